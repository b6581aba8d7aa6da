"""Long runs: stopped and taken up again, by a service, with a bar, at what speed and with what memory."""

import io
import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sheet_files import ACCEPTED, HEADER, REJECTED, ROOT, book, cells, decisions, replaced, run, text

from service.profile.loader import load
from service.sheets import elsewhere
from service.sheets.progress import Progress
from service.sheets.run import checked_sheet, here

Printed = pytest.CaptureFixture[str]
TODAY = date(2026, 11, 25)


def orders(count: int) -> Iterator[list[Any]]:
    """Orders of all sorts, the same each time."""
    draw = random.Random(7)
    for number in range(count):
        yield replaced(
            ACCEPTED, Ref=f"W-{number}", R_sph=draw.randint(-24, -1) / 4, L_sph=draw.randint(-24, -1) / 4,
            R_axis=draw.randint(1, 180), R_PD=draw.randint(28, 34), A=draw.randint(48, 56), Blank=draw.choice((65, 70, 75)),
        )  # fmt: skip


def started(source: Path, output: Path, *more: str) -> "subprocess.Popen[bytes]":
    """The command as a process of its own."""
    # A runner in the background may ignore Ctrl-C, and its children with it; a person's terminal does not.
    program = (
        "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler); "
        "from service.__main__ import main; sys.exit(main(sys.argv[1:]))"
    )
    command = [sys.executable, "-c", program, "sheet", str(source), "-o", str(output), *more]
    return subprocess.Popen(command, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def rows_kept(path: Path) -> int:
    return max(path.read_bytes().count(b"\n") - 1, 0) if path.exists() else 0


def stopped(source: Path, output: Path, how: signal.Signals, after: int) -> int:
    """Start the command, stop it once some rows are done, and give the number of rows that are kept."""
    sidecar = output.with_name(f"{output.name}.part.ndjson")
    process = started(source, output)
    until = time.monotonic() + 60
    while rows_kept(sidecar) < after and process.poll() is None and time.monotonic() < until:
        time.sleep(0.01)
    process.send_signal(how)
    process.communicate(timeout=30)
    assert process.returncode in (130, -how)
    assert not output.exists()
    return rows_kept(sidecar)


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
@pytest.mark.parametrize("out", ["checked.xlsx", "checked.csv"])
def test_a_run_that_was_stopped_goes_on_and_ends_as_if_it_had_not_been(
    tmp_path: Path, how: signal.Signals, out: str, capsys: Printed
) -> None:
    source = book(tmp_path / "orders.xlsx", [*orders(500)])
    kept = stopped(source, tmp_path / out, how, after=60)
    assert 60 <= kept < 500
    code = run(source, "-o", tmp_path / out)
    assert f"500 rows ({kept:,} of them from the run that was stopped)" in capsys.readouterr().out
    assert run(source, "-o", tmp_path / f"whole-{out}") == code
    assert cells(tmp_path / out) == cells(tmp_path / f"whole-{out}")
    if out.endswith("xlsx"):
        assert cells(tmp_path / out, 1) == cells(tmp_path / f"whole-{out}", 1)
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {"orders.xlsx", out, f"whole-{out}"}


def test_a_row_that_was_changed_meanwhile_is_done_again(tmp_path: Path, capsys: Printed) -> None:
    source = text(tmp_path / "orders.csv", [*orders(300)])
    kept = stopped(source, tmp_path / "checked.csv", signal.SIGKILL, after=50)
    changed = [*orders(300)]
    changed[3] = replaced(ACCEPTED, R_axis=None)
    text(source, changed)
    run(source, "-o", tmp_path / "checked.csv")
    assert f"({kept - 1:,} of them" in capsys.readouterr().out
    assert decisions(tmp_path / "checked.csv")[3] == "reject"


def test_rows_judged_by_other_rules_or_on_another_day_are_done_again(tmp_path: Path) -> None:
    source = text(tmp_path / "orders.csv", [*orders(300)])
    stopped(source, tmp_path / "checked.csv", signal.SIGKILL, after=50)
    sidecar = tmp_path / "checked.csv.part.ndjson"
    whole = sidecar.read_bytes()
    assert checked_sheet(source, tmp_path / "checked.csv", here(load(None), date(2030, 1, 1))).resumed == 0
    sidecar.write_bytes(whole)
    profile = tmp_path / "own.toml"
    profile.write_text("[blank]\nallowance_mm = 3.0\n")
    assert checked_sheet(source, tmp_path / "checked.csv", here(load(profile), TODAY)).resumed == 0


@pytest.mark.parametrize("cut", [1, 7, 60])
def test_what_was_cut_off_while_it_was_written_is_done_again(tmp_path: Path, cut: int) -> None:
    source = text(tmp_path / "orders.csv", [*orders(40)])
    judge = here(load(None), TODAY)
    whole = checked_sheet(source, tmp_path / "whole.csv", judge)

    class StopError(Exception): ...

    def broken(steps: Any, reader: Any) -> Any:
        for number, pair in enumerate(judge.outcomes(steps, reader)):
            if number == 20:
                raise StopError
            yield pair

    with pytest.raises(StopError):
        checked_sheet(source, tmp_path / "checked.csv", type(judge)(broken, judge.identity, judge.about))
    sidecar = tmp_path / "checked.csv.part.ndjson"
    sidecar.write_bytes(sidecar.read_bytes()[:-cut])
    again = checked_sheet(source, tmp_path / "checked.csv", judge)
    assert again.resumed == 19
    assert again.counts == whole.counts
    assert (tmp_path / "checked.csv").read_bytes() == (tmp_path / "whole.csv").read_bytes()


def test_an_output_that_cannot_be_replaced_loses_nothing(tmp_path: Path, capsys: Printed) -> None:
    source = text(tmp_path / "orders.csv", [ACCEPTED])
    (tmp_path / "checked.csv").mkdir()
    assert run(source, "-o", tmp_path / "checked.csv") == 3
    assert "cannot be written" in capsys.readouterr().err
    (tmp_path / "checked.csv").rmdir()
    assert run(source, "-o", tmp_path / "checked.csv") == 0
    assert "1 row (1 of them from the run that was stopped)" in capsys.readouterr().out


def test_a_terminal_sees_a_bar_and_a_file_sees_nothing() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    for stream, seen in ((Terminal(), True), (io.StringIO(), False)):
        bar = Progress(200, stream)
        for _ in range(200):
            bar.step()
        bar.close()
        assert ("[##############################] 200 of 200 rows" in stream.getvalue()) == seen


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full: a full disk was not tried")
@pytest.mark.parametrize("out", ["checked.xlsx", "checked.csv"])
def test_a_full_disk_is_told_and_loses_nothing(tmp_path: Path, out: str) -> None:
    source = book(tmp_path / "orders.xlsx", [ACCEPTED])
    (tmp_path / f"{out}.part").symlink_to("/dev/full")
    process = started(source, tmp_path / out)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 3
    assert f"{out} cannot be written: No space left on device".encode() in told
    assert {path.name for path in tmp_path.iterdir()} == {"orders.xlsx", f"{out}.part.ndjson"}
    assert run(source, "-o", tmp_path / out) == 0
    assert {path.name for path in tmp_path.iterdir()} == {"orders.xlsx", out}


def test_without_the_extras_csv_still_works_and_what_needs_one_says_which(tmp_path: Path) -> None:
    book(tmp_path / "orders.xlsx", [ACCEPTED])
    text(tmp_path / "orders.csv", [ACCEPTED])
    program = (
        "import sys; sys.modules.update(openpyxl=None, xlsxwriter=None, httpx=None)\n"
        "from service.__main__ import main; sys.exit(main(sys.argv[1:]))"
    )
    for source, out, more, code in (
        ("orders.csv", "o.csv", [], 0), ("orders.csv", "o.xlsx", [], 3), ("orders.xlsx", "o.csv", [], 3),
        ("orders.csv", "o.csv", ["--server", "http://127.0.0.1:9"], 3),
    ):  # fmt: skip
        command = [sys.executable, "-c", program, "sheet", source, "-o", out, *more]
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            command, check=False, cwd=tmp_path, env=surroundings, capture_output=True, text=True, timeout=60
        )
        assert done.returncode == code, done.stderr
        assert ("pip install" in done.stderr) == (code == 3)
        assert "Traceback" not in done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"orders.csv", "orders.xlsx", "o.csv"}


# By a service.


PROGRAM = """
import socket
import uvicorn
from service.app import create_app
from service.settings import Settings

held = socket.socket()
held.bind(("127.0.0.1", 0))
print(held.getsockname()[1], flush=True)
uvicorn.Server(uvicorn.Config(create_app(Settings(log=False)), log_level="warning")).run(sockets=[held])
"""


@contextmanager
def service() -> Iterator[tuple[str, "subprocess.Popen[bytes]"]]:
    """The real service as a process of its own, on a port that was free."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    try:
        assert process.stdout is not None
        yield f"http://127.0.0.1:{int(process.stdout.readline())}", process
    finally:
        process.kill()
        process.communicate(timeout=30)


def test_a_service_gives_the_same_sheet_as_this_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("httpx", reason="httpx is not installed: no service was asked")
    monkeypatch.setattr(elsewhere, "_AT_ONCE", 25)
    rows = [*orders(60), [], replaced(ACCEPTED, R_sph="x"), replaced(ACCEPTED, R_PD=900), REJECTED]
    source = book(tmp_path / "orders.xlsx", rows)
    assert run(source, "-o", tmp_path / "here.xlsx") == 2
    with service() as (address, _):
        with_password = address.replace("://", "://anna:Xq7secret@")
        assert run(source, "-o", tmp_path / "there.xlsx", "--server", with_password) == 2
    for sheet in (0, 1):
        assert cells(tmp_path / "there.xlsx", sheet) == cells(tmp_path / "here.xlsx", sheet)
    assert decisions(tmp_path / "there.xlsx")[-4:] == [None, "unreadable", "unreadable", "reject"]
    assert cells(tmp_path / "there.xlsx")[-2][-2].startswith("Cell H64: ")
    about = dict(cells(tmp_path / "there.xlsx", 2))
    assert about["Service"] == address  # and no password
    assert about["Rules"] == dict(cells(tmp_path / "here.xlsx", 2))["Rules"]


def test_a_service_that_dies_in_the_middle_loses_nothing_and_another_goes_on(tmp_path: Path, capsys: Printed) -> None:
    pytest.importorskip("httpx", reason="httpx is not installed: no service was asked")
    source = text(tmp_path / "orders.csv", [*orders(900)])
    sidecar = tmp_path / "checked.csv.part.ndjson"
    with service() as (address, serving):
        process = started(source, tmp_path / "checked.csv", "--server", address)
        until = time.monotonic() + 60
        while rows_kept(sidecar) < 50 and process.poll() is None and time.monotonic() < until:
            time.sleep(0.01)
        serving.kill()
        _, told = process.communicate(timeout=60)
    assert process.returncode == 3
    assert b"gave no answer" in told
    assert b"Traceback" not in told
    assert not (tmp_path / "checked.csv").exists()
    kept = rows_kept(sidecar)
    assert 50 <= kept < 900
    with service() as (address, _):
        run(source, "-o", tmp_path / "checked.csv", "--server", address)
    assert f"900 rows ({kept:,} of them from the run that was stopped)" in capsys.readouterr().out
    run(source, "-o", tmp_path / "here.csv")
    assert (tmp_path / "checked.csv").read_bytes() == (tmp_path / "here.csv").read_bytes()


def test_no_service_at_the_address_is_told_and_nothing_is_written(tmp_path: Path, capsys: Printed) -> None:
    pytest.importorskip("httpx", reason="httpx is not installed: no service was asked")
    source = text(tmp_path / "orders.csv", [ACCEPTED])
    assert run(source, "-o", tmp_path / "checked.csv", "--server", "http://127.0.0.1:9") == 3
    assert "http://127.0.0.1:9 gave no answer" in capsys.readouterr().err
    assert {path.name for path in tmp_path.iterdir()} == {"orders.csv"}


# Speed and memory.


def peak_and_seconds(source: Path, output: Path) -> tuple[float, float]:
    """Most memory that the command took, in MB, and how long it took."""
    # Not by getrusage: what it gives holds the memory of the process that started this one too.
    program = (
        "import re, sys, time; from service.__main__ import main; began = time.monotonic(); main(sys.argv[1:])\n"
        "most = int(re.search(r'VmHWM:\\s+(\\d+) kB', open('/proc/self/status').read())[1])\n"
        "print(most / 1024, time.monotonic() - began)"
    )
    command = [sys.executable, "-c", program, "sheet", str(source), "-o", str(output)]
    done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True, timeout=900)
    peak, seconds = done.stdout.split("\n")[-2].split()
    return float(peak), float(seconds)


@pytest.mark.skipif("BENCHGATE_LONG" not in os.environ, reason="the long run is asked for with BENCHGATE_LONG=1")
def test_ten_thousand_rows_take_no_more_memory_than_a_thousand(tmp_path: Path) -> None:
    figures = {}
    for kind in ("xlsx", "csv"):
        for count in (1_000, 10_000):
            source = (book if kind == "xlsx" else text)(tmp_path / f"orders.{kind}", [*orders(count)])
            figures[kind, count] = peak_and_seconds(source, tmp_path / f"checked.{kind}")
            print(f"{kind}, {count:,} rows: {figures[kind, count][0]:.0f} MB at most, {figures[kind, count][1]:.1f} s")
        grown = figures[kind, 10_000][0] - figures[kind, 1_000][0]
        assert grown < 20, f"{grown:.0f} MB more for 9,000 rows more"


def test_memory_is_bounded(tmp_path: Path) -> None:
    small = peak_and_seconds(text(tmp_path / "a.csv", [*orders(50)]), tmp_path / "small.csv")
    # Rows whose cells cannot be read cost no check, so that many of them take little time.
    large = peak_and_seconds(text(tmp_path / "b.csv", [replaced(ACCEPTED, R_sph="x")] * 20_000), tmp_path / "large.csv")
    print(f"50 rows: {small[0]:.0f} MB, {small[1]:.1f} s; 20,000 rows: {large[0]:.0f} MB, {large[1]:.1f} s")
    assert large[0] - small[0] < 20


def test_the_sidecar_holds_rows_and_digests_and_ends_with_a_whole_line(tmp_path: Path) -> None:
    source = text(tmp_path / "orders.csv", [*orders(300)])
    stopped(source, tmp_path / "checked.csv", signal.SIGINT, after=20)
    first, *rows = [json.loads(line) for line in (tmp_path / "checked.csv.part.ndjson").read_bytes().splitlines()]
    assert set(first) == {"run"}
    assert [row["row"] for row in rows] == list(range(2, len(rows) + 2))
    assert len({row["digest"] for row in rows}) == len(rows)
    assert len(HEADER) == len(ACCEPTED)
