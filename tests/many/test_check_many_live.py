"""Streams to the real service by real programs: both ways at once, with flat memory, and others answered meanwhile.

With BENCHGATE_LONG=1 the bound itself is tried: 100,000 lines, some minutes of work.
"""

import json
import os
import shutil
import socket
import statistics
import subprocess
import threading
import time
from collections.abc import Iterator
from itertools import takewhile
from pathlib import Path
from typing import Any

import pytest
from live_service import LiveService, live_service

from service import limits
from service.contract.order import EXAMPLE_ORDER

MANY = "/v1/orders/check-many"
SHORT: dict[str, Any] = {
    "prescription": {"right": {"sphere": -2.25}, "left": {"sphere": -2.5}},
    "pd_mm": {"both": 63},
    "frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18},
}
LONG = os.environ.get("BENCHGATE_LONG") == "1"
# What Python and its libraries keep after a warm start; rows that were kept would be 5 kB each or more.
KEPT_MIB = 24.0


@pytest.fixture(scope="module")
def live() -> Iterator[LiveService]:
    with live_service() as service:
        yield service


@pytest.fixture(scope="module")
def curl() -> str:
    found = shutil.which("curl")
    if found is None:
        pytest.skip("curl is not on this machine")
    return found


def lines_file(path: Path, count: int) -> Path:
    with path.open("w", encoding="utf-8") as file:
        file.writelines(json.dumps({"reference": f"W-{at}", **SHORT}) + "\n" for at in range(count))
    return path


def head(length: str) -> bytes:
    return f"POST {MANY} HTTP/1.1\r\nHost: x\r\nContent-Type: application/x-ndjson\r\n{length}\r\n\r\n".encode()


def test_a_line_is_answered_while_the_connection_stays_open_for_more(live: LiveService) -> None:
    line = json.dumps(EXAMPLE_ORDER).encode() + b"\n"
    with (
        socket.create_connection(("127.0.0.1", live.port), timeout=20) as connection,
        connection.makefile("rb") as heard,
    ):
        connection.sendall(head("Transfer-Encoding: chunked"))
        for index in range(3):
            connection.sendall(b"%x\r\n%b\r\n" % (len(line), line))
            while not (answer := heard.readline()).startswith(b'{"index"'):
                assert answer, "the connection was closed"
            assert json.loads(answer)["index"] == index
        connection.sendall(b"0\r\n\r\n")
        while not (end := heard.readline()).startswith(b'{"end"'):
            assert end, "the connection was closed"
        assert json.loads(end)["end"]["rows"] == 3


def test_what_fits_into_what_is_taken_ahead_may_be_sent_whole_before_an_answer_is_read(live: LiveService) -> None:
    line = json.dumps(SHORT).encode() + b"\n"
    count = limits.MAX_BYTES_AHEAD // len(line)
    with (
        socket.create_connection(("127.0.0.1", live.port), timeout=60) as connection,
        connection.makefile("rb") as heard,
    ):
        connection.sendall(head(f"Content-Length: {count * len(line)}") + count * line)
        answers = sum(one.startswith(b'{"index"') for one in takewhile(lambda one: one not in (b"0\r\n", b""), heard))
    assert answers == count


def test_curl_gets_a_table_back_with_our_columns(live: LiveService, curl: str, tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text("Order,R sph,L sph,PD,A,B,DBL\nW-1,-2.25,-2.50,63,54,40,18\n", "utf-8")
    command = [
        curl,
        "-sS",
        "-f",
        "-H",
        "Content-Type: text/csv",
        "-H",
        "Accept: text/csv",
        "--data-binary",
        f"@{table}",
    ]
    done = subprocess.run([*command, live.address + MANY], check=True, capture_output=True, text=True, timeout=60)
    header, row = done.stdout.splitlines()
    assert header.startswith("Order,R sph,L sph,PD,A,B,DBL,benchgate: decision,")
    assert row.startswith("W-1,-2.25,-2.50,63,54,40,18,")


@pytest.mark.parametrize(
    "count",
    [
        3_000,
        pytest.param(
            limits.MAX_STREAMED_ROWS,
            marks=pytest.mark.skipif(not LONG, reason="takes minutes; set BENCHGATE_LONG=1 to run it"),
        ),
    ],
)
def test_memory_stays_flat_and_health_is_answered_while_a_batch_runs(
    live: LiveService, curl: str, tmp_path: Path, count: int
) -> None:
    stream(curl, live, lines_file(tmp_path / "warm.ndjson", 300))
    orders = lines_file(tmp_path / "orders.ndjson", count)
    before, most, health = live.memory_mib(), 0.0, [live.health_ms()]
    running = threading.Event()

    def watch() -> None:
        nonlocal most
        while not running.wait(0.05):
            most = max(most, live.memory_mib())
            health.append(live.health_ms())

    watching = threading.Thread(target=watch)
    watching.start()
    started = time.perf_counter()
    try:
        rows, end = stream(curl, live, orders)
    finally:
        seconds = time.perf_counter() - started
        running.set()
        watching.join(20)
    assert rows == count
    assert end["end"]["rows"] == count
    answered = [one for one in health if one is not None]
    assert len(answered) == len(health) > 2
    print(
        f"\n{count} lines in {seconds:.1f} s; memory {before:.0f} MiB before, at most {most:.0f} MiB; health answered in "
        f"{statistics.median(answered):.1f} ms (median of {len(answered)}), at most {max(answered):.1f} ms"
    )
    assert most - before < KEPT_MIB


def stream(curl: str, live: LiveService, orders: Path) -> tuple[int, dict[str, Any]]:
    """Rows answered in their order, and the last line; the answers are not kept."""
    command = [
        curl,
        "-sSNf",
        "-X",
        "POST",
        "-H",
        "Content-Type: application/x-ndjson",
        "-T",
        str(orders),
        live.address + MANY,
    ]
    last, rows = b"", 0
    with subprocess.Popen(command, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        for last in process.stdout:
            if last.startswith(b'{"index":%d,' % rows):
                rows += 1
    assert process.returncode == 0
    end: dict[str, Any] = json.loads(last)
    return rows, end
