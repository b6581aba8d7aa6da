"""What the command line prints: each place told once, causes before their findings, and nothing to a reader who went away."""

import json
import os
import subprocess
import sys
from typing import Any

import pytest
from command_files import ACCEPTED, ROOT, Printed
from command_files import no_settings as no_settings
from command_files import written as written

from service.__main__ import main

INSPECTIONS = ROOT / "openapi_examples" / "inspections"


def test_where_json_breaks_off_is_told_once(written: Any, capsys: Printed) -> None:
    assert main(["check", written("{")]) == 3
    assert capsys.readouterr().err.lower().count("line 1, column 2") == 1


def test_a_swapped_pair_is_told_before_the_findings_that_come_of_it(capsys: Printed) -> None:
    assert main(["inspect", str(INSPECTIONS / "lenses-swapped" / "request.json")]) == 2
    printed = capsys.readouterr().out
    assert printed.startswith(
        "W-1303: FAIL by ansi-z80.1-2015\n\nLikely causes\n  The readings fit the order with right"
    )
    assert printed.count("Likely causes") == 1
    assert "[reject] beyond-tolerance" in printed


def test_a_pair_for_review_names_the_standard_and_then_what_to_do(capsys: Printed) -> None:
    assert main(["inspect", str(INSPECTIONS / "heights-not-measured" / "request.json")]) == 1
    assert capsys.readouterr().out.split("\n")[0].endswith(": REVIEW by ansi-z80.1-2015: a person must look")


@pytest.mark.parametrize(
    "command", [("check",), ("check", "--json"), ("draw",), ("sheet-for",)], ids=["report", "json", "drawing", "sheet"]
)
def test_a_reader_that_went_away_gets_no_traceback_and_no_decision(written: Any, command: tuple[str, ...]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        finished = subprocess.run(
            [sys.executable, "-m", "service", *command, written(json.dumps(ACCEPTED))],
            stdout=writing,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            check=False,
        )
    finally:
        os.close(writing)
    assert (finished.returncode, finished.stderr) == (141, b"")
