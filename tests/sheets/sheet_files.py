"""Sheets for the tests: made by a library of workbooks, and by LibreOffice where it is installed."""

import csv
import io
import shutil
import subprocess
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from service.__main__ import main

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "openapi_examples" / "spreadsheets"
HEADER = (
    "Ref",
    "R sph",
    "R cyl",
    "R axis",
    "L sph",
    "L cyl",
    "L axis",
    "R PD",
    "L PD",
    "A",
    "B",
    "DBL",
    "ED",
    "Blank",
    "As of",
)
# As the everyday pair of the examples; the words of the decisions are those that `benchgate check` gives for them.
ACCEPTED: tuple[Any, ...] = ("W-1", -2.25, -0.75, 10, -2.5, -0.5, 170, 31.5, 32, 52, 36, 18, 54, 70, "2026-11-25")
REJECTED: tuple[Any, ...] = ("W-2", -2.25, -0.75, 10, -2.5, -0.5, 170, 29, 29, 56, 44, 20, 62, 60, "2026-11-25")
OURS = 15  # columns at the right


def replaced(row: Sequence[Any], **cells: Any) -> list[Any]:
    """A row with other cells, named by their columns, such as R_sph."""
    changed = list(row)
    for name, value in cells.items():
        changed[HEADER.index(name.replace("_", " "))] = value
    return changed


def book(path: Path, rows: Iterable[Sequence[Any]], header: Sequence[Any] = HEADER, title: str = "Orders") -> Path:
    """A workbook with one sheet."""
    made = openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = title
    for row in (header, *rows):
        sheet.append(list(row))
    made.save(path)
    return path


def text(path: Path, rows: Iterable[Sequence[Any]], header: Sequence[Any] = HEADER, **more: Any) -> Path:
    """A CSV file in UTF-8, or as `encoding` and the other words for a CSV writer say."""
    encoding = more.pop("encoding", "utf-8")
    made = io.StringIO(newline="")
    writer = csv.writer(made, **more)
    writer.writerows((header, *(["" if cell is None else cell for cell in row] for row in rows)))
    path.write_bytes(made.getvalue().encode(encoding))
    return path


def run(*arguments: str | Path) -> int:
    """The command."""
    return main(["sheet", *(str(one) for one in arguments)])


def cells(path: Path, sheet: int = 0) -> list[list[Any]]:
    """All cells of a sheet of a workbook, or of a CSV file."""
    if path.suffix == ".csv":
        with path.open(encoding="utf-8-sig", newline="") as opened:
            return [list(row) for row in csv.reader(opened)]
    opened_book = openpyxl.load_workbook(path)
    return [list(row) for row in opened_book.worksheets[sheet].iter_rows(values_only=True)]


def decisions(path: Path) -> list[Any]:
    """The words that stand in the column of decisions."""
    header, *rows = cells(path)
    at = header.index("benchgate: decision")
    return [row[at] if at < len(row) else None for row in rows]


def libreoffice(source: Path, kind: str, folder: Path) -> Path:
    """A file as LibreOffice saves it in another form. Skips where LibreOffice is not installed."""
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not installed: its sheets were not tried (Debian: libreoffice-calc)")
    folder.mkdir(exist_ok=True)
    profile = (folder / "profile").as_uri()
    command = [
        program,
        f"-env:UserInstallation={profile}",
        "--headless",
        "--norestore",
        "--nologo",
        "--convert-to",
        kind,
    ]
    subprocess.run(
        [*command, "--outdir", str(folder), str(source)],
        check=True, capture_output=True, stdin=subprocess.DEVNULL, timeout=120,
    )  # fmt: skip
    made = folder / f"{source.stem}.{kind.partition(':')[0]}"
    assert made.is_file()
    return made
