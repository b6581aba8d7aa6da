"""The script for a shared sheet, run by node with stand-ins for the host's services, against the running service."""

import json
import os
import shutil
import subprocess
from typing import Any

import pytest
from live_service import live_service
from make import FOLDER, PAIRS

SCRIPT = FOLDER / "apps-script.gs"
SECONDS = 60
COLUMNS = [
    "reference", "rsph", "rcyl", "raxis", "lsph", "lcyl", "laxis", "rpd", "lpd", "a", "b", "dbl", "ed", "blank", "material",
    "as_of", "decision", "why",
]  # fmt: skip
# The host fetches at once and not in time: curl stands in for it.
STAND_INS = """
const { execFileSync } = require("node:child_process");
const job = JSON.parse(require("node:fs").readFileSync(0, "utf8"));
const calls = [], log = [];
const UrlFetchApp = { fetch(url, options) {
  calls.push(url);
  const own = url.replace("https://benchgate.example.com", job.service);
  const all = { ...options.headers, "Content-Type": options.contentType };
  const headers = Object.entries(all).flatMap(([name, value]) => ["-H", `${name}: ${value}`]);
  const out = execFileSync("curl", ["-s", "-X", options.method.toUpperCase(), ...headers, "--data-binary", "@-",
    "-w", "\\n%{http_code}", own], { input: options.payload, encoding: "utf8", maxBuffer: 1e8 });
  const at = out.lastIndexOf("\\n");
  return { getResponseCode: () => Number(out.slice(at + 1)), getContentText: () => out.slice(0, at) };
} };
const sheet = {
  getDataRange: () => ({ getValues: () => job.values }),
  getRange: (row, column, rows, columns) => ({
    clearContent: () => log.push(["cleared", row, column, rows, columns]),
    setValues: (values) => log.push(["set", row, column, values]),
  }),
};
const SpreadsheetApp = { getActiveSheet: () => sheet, flush: () => log.push(["flushed"]) };
"""
RUN = """
let failed = null;
try { checkSheet(); } catch (error) { failed = error.message; }
console.log(JSON.stringify({ calls, log, failed }));
"""


def program(name: str) -> str:
    """Path of a command; without it the test is skipped."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed: the script for shared sheets was not run")
    return found


def ran(values: list[list[Any]], service: str) -> dict[str, Any]:
    """What the script does with a sheet."""
    node = program("node")
    program("curl")
    source = STAND_INS + SCRIPT.read_text("utf-8") + RUN
    environment = {name: value for name, value in os.environ.items() if not name.lower().endswith("_proxy")}
    done = subprocess.run(
        [node, "-e", source], input=json.dumps({"values": values, "service": service}), env=environment,
        capture_output=True, text=True, check=False, timeout=SECONDS,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def sheet() -> list[list[Any]]:
    rows = [["" if cell is None else cell for cell in row] for row in PAIRS.rows]
    return [COLUMNS, *([*row, "", ""] for row in rows)]


def test_a_range_is_checked_in_one_call_and_written_beside_its_rows() -> None:
    with live_service() as service:
        done = ran(sheet(), service.address)
    assert done["failed"] is None
    assert done["calls"] == ["https://benchgate.example.com/v1/orders/check-many"]
    cleared, header, flushed, written = done["log"]
    assert cleared == ["cleared", 2, 17, 4, 2]
    assert header == ["set", 1, 17, [["decision", "why"]]]
    assert flushed == ["flushed"]
    assert written[:3] == ["set", 2, 17]
    assert [row[0] for row in written[3]] == ["accept", "reject", "review", "not readable"]
    assert "blank of 60 mm" in written[3][1][1]
    assert "a_mm" in written[3][3][1]


def test_many_rows_are_sent_in_parts() -> None:
    header, first, *_ = sheet()
    with live_service() as service:
        done = ran([header, *[first] * 101], service.address)
    assert len(done["calls"]) == 3
    assert [row[0] for row in done["log"][-1][3]] == ["accept"] * 101


def test_if_the_service_is_not_there_no_old_decision_is_left() -> None:
    with live_service() as service:
        gone = service.address
    done = ran(sheet(), gone)
    assert done["failed"]
    assert [entry[0] for entry in done["log"]] == ["cleared", "set", "flushed"]


def test_a_column_that_is_not_known_is_named() -> None:
    done = ran([["reference", "rsphere"], ["W-1", -2]], "http://127.0.0.1:9")
    assert done["failed"] == "The column rsphere is not known here."
    assert done["calls"] == []
