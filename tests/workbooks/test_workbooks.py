"""The workbooks in LibreOffice against the running service: they show the service's values, and an error where there is none.

Both files are opened as a shop opens them, but for one cell: the address of the service. Once in English, once in German,
where a joined figure has a comma.
"""

import json
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import httpx2
import openpyxl
import pytest
from live_service import live_service
from make import (
    ADDRESS,
    EXCEL,
    FOLDER,
    LENSES,
    LIBREOFFICE,
    NAME,
    PAIRS,
    TABLES,
    Asked,
    Table,
    flat_document,
    write_excel,
)

HERE = Path(__file__).resolve().parent
README = HERE.parents[1] / "README.md"
SECONDS = 180
BOOKS = (EXCEL, LIBREOFFICE)
LANGUAGES = ("en-US", "de-DE")
# What happens to sound rows while the workbook is open: another sphere, an axis that is lost, a frame width that is lost.
CHANGES: tuple[tuple[str, str, float | None], ...] = (
    ("Lenses", "C2", -4.75), ("Lenses", "E3", None), ("Lenses", "G4", None), ("Pairs", "N2", 62.5), ("Pairs", "K4", None),
)  # fmt: skip
# Rows and columns (counted among the fetched ones) that cannot have a value, before the changes and after them.
NO_POWER, NO_SIZES, NO_PRISM = {0, 1, 5}, {2, 3, 4}, {6}
WITHOUT = {"Lenses": {5: NO_POWER | NO_PRISM, 6: NO_SIZES | NO_PRISM}, "Pairs": {5: {0}}}
WITHOUT_AFTER = {
    "Lenses": {**WITHOUT["Lenses"], 3: NO_POWER | NO_PRISM, 4: NO_SIZES | NO_PRISM},
    "Pairs": {5: {0}, 4: {0}},
}


@dataclass(frozen=True, slots=True)
class Opened:
    """One book in one language: what its formulas showed before and after the changes."""

    book: str
    before: dict[str, Any]
    after: dict[str, Any]


@cache
def office_python() -> str:
    """A Python that talks to LibreOffice; without one, or without LibreOffice, the test is skipped, but never in CI."""
    for program in ("/usr/bin/python3", shutil.which("python3")):
        if program is not None and shutil.which("soffice") is not None:
            tried = subprocess.run([program, "-c", "import uno"], capture_output=True, check=False, timeout=60)
            if tried.returncode == 0:
                return program
    said = "LibreOffice with its Python bridge is not installed: the workbooks were not opened"
    if os.environ.get("CI"):
        pytest.fail(said)
    pytest.skip(f"{said} (Debian: libreoffice-calc, python3-uno)")


def readme_block(marker: str) -> str:
    """The fenced block of the README that follows a marker."""
    found = re.search(rf"^<!-- {marker} -->\n```\n(.+?)\n```$", README.read_text("utf-8"), re.M | re.S)
    assert found is not None
    return found.group(1)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with live_service() as service:
        yield service.address


@pytest.fixture(scope="module", params=LANGUAGES)
def opened(request: pytest.FixtureRequest, address: str, tmp_path_factory: pytest.TempPathFactory) -> list[Opened]:
    """Both books, opened once in a language."""
    program = office_python()
    folder = tmp_path_factory.mktemp("books")
    book = openpyxl.load_workbook(FOLDER / EXCEL)
    book["Service"]["B1"] = address
    book.save(folder / EXCEL)
    flat = (FOLDER / LIBREOFFICE).read_text("utf-8")
    assert flat.count(ADDRESS) == 1
    (folder / LIBREOFFICE).write_text(flat.replace(ADDRESS, address), "utf-8")
    job = {
        "folder": str(folder),
        "locale": request.param,
        "books": [str(folder / name) for name in BOOKS],
        "changes": [*CHANGES, ("Service", "C1", readme_block("cells-formula").replace(ADDRESS, address))],
    }
    ran = subprocess.run(
        [program, str(HERE / "recalculate.py")],
        input=json.dumps(job), capture_output=True, text=True, check=False, timeout=SECONDS,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return [Opened(name, *states) for name, states in zip(BOOKS, json.loads(ran.stdout), strict=True)]


def typed(changed: bool) -> dict[str, dict[int, list[Any]]]:
    """What stands in the typed columns of each row of each sheet."""
    rows = {table.title: {at: list(row) for at, row in enumerate(table.rows, start=2)} for table in TABLES}
    for sheet, cell, value in CHANGES if changed else ():
        rows[sheet][int(cell[1:])][ord(cell[0]) - ord("A")] = value
    return rows


def asked_of_service(address: str, table: Table, asked: Asked, row: list[Any], fetched: list[Any]) -> httpx2.Response:
    """The service's own answer to what a cell asks."""
    whole = [*row, *fetched]
    words = {}
    for word, column in asked.words.items():
        value = whole[ord(column[-1]) - ord("A")]
        if column.startswith("-") and value is not None:
            value = -float(value)
        words[word] = "" if value is None else str(value)
    assert table.header
    return httpx2.get(f"{address}/v1/cells/{asked.path}", params=words)


def cell_name(table: Table, at: int, row: int) -> str:
    return f"{chr(ord('A') + len(table.typed) + at)}{row}"


@pytest.mark.parametrize("changed", [False, True], ids=["as-opened", "after-changes"])
def test_every_cell_shows_the_service_s_value_or_an_error(opened: list[Opened], address: str, changed: bool) -> None:
    without = WITHOUT_AFTER if changed else WITHOUT
    values = errors = 0
    for one in opened:
        states = one.after if changed else one.before
        for table in TABLES:
            for row, cells in typed(changed)[table.title].items():
                fetched: list[Any] = []
                for at, asked in enumerate(table.asked):
                    shown = states[table.title][cell_name(table, at, row)]
                    where = (one.book, table.title, cell_name(table, at, row), shown)
                    if at in without[table.title].get(row, ()):
                        assert (
                            asked_of_service(address, table, asked, cells, fetched).status_code == 422 or at in NO_PRISM
                        ), where
                        assert shown["error"] != 0, where
                        assert not shown["text"].lstrip("-").replace(",", "").replace(".", "").isdigit(), where
                        fetched.append(None)
                        errors += 1
                        continue
                    answer = asked_of_service(address, table, asked, cells, fetched)
                    assert answer.status_code == 200, (where, answer.text)
                    assert (shown["error"], shown["is_number"]) == (0, asked.is_number), where
                    if asked.is_number:
                        assert shown["value"] == float(answer.text), where
                    else:
                        assert shown["text"] == answer.text, where
                    fetched.append(shown["value"] if asked.is_number else shown["text"])
                    values += 1
    assert (values, errors) == ((60, 36) if changed else (78, 18)), "the rows above were all looked at"


def test_a_change_changes_what_is_shown_and_leaves_no_old_number(opened: list[Opened]) -> None:
    for one in opened:
        # The mean power of -4.75 -0.75 is -5.125; the blank of 62.5 mm is below the 65 mm that every shape needs.
        assert one.before["Lenses"]["O2"]["value"] == -2.625
        assert one.after["Lenses"]["O2"]["value"] == -5.125
        assert (one.before["Pairs"]["Q2"]["text"], one.after["Pairs"]["Q2"]["text"]) == ("accept", "reject")
        assert one.before["Lenses"]["O3"]["value"] == -2.75
        assert one.after["Lenses"]["O3"]["error"] != 0
        assert "no axis" not in one.before["Lenses"]["V5"]["text"]
        assert one.after["Lenses"]["V4"]["text"].startswith("There is no value. Nothing was read for `a`.")


def test_the_workbooks_are_what_their_script_writes(tmp_path: Path) -> None:
    assert (FOLDER / LIBREOFFICE).read_text("utf-8") == flat_document()
    write_excel(tmp_path / EXCEL)
    made, kept = (openpyxl.load_workbook(folder / EXCEL) for folder in (tmp_path, FOLDER))
    assert made.sheetnames == kept.sheetnames == ["Service", LENSES.title, PAIRS.title]
    assert kept.defined_names[NAME].attr_text == made.defined_names[NAME].attr_text == "Service!$B$1"
    for name in made.sheetnames:
        assert [list(row) for row in made[name].values] == [list(row) for row in kept[name].values], name


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.title)
def test_no_formula_hides_an_error_or_is_too_long(table: Table) -> None:
    sheet = openpyxl.load_workbook(FOLDER / EXCEL)[table.title]
    formulas = [cell.value for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    assert len(formulas) == len(table.rows) * len(table.asked)
    for formula in formulas:
        assert "IFERROR" not in formula
        assert "IFNA" not in formula
        # Excel takes no text of more than 255 characters within a formula.
        assert max(len(part) for part in formula.split('"')) <= 255


def test_the_formula_of_the_readme_works_as_written(opened: list[Opened]) -> None:
    for one in opened:
        # 58 + 2 sqrt(4.5^2 + 2^2) + 2
        shown = one.after["Service"]["C1"]
        assert (shown["error"], shown["value"]) == (0, 69.8489)


def test_the_commands_of_the_readme_work_as_written(address: str) -> None:
    if shutil.which("curl") is None:
        pytest.skip("curl is not installed: the README's commands for cells were not run")
    lines = readme_block("cells-commands").replace(ADDRESS, address).splitlines()
    environment = {name: value for name, value in os.environ.items() if not name.lower().endswith("_proxy")}
    said = [
        subprocess.run(
            ["bash", "-c", line], env=environment, capture_output=True, text=True, check=True, timeout=30
        ).stdout
        for line in lines
    ]
    assert said[:2] == ["69.8489", "-3.00 +0.75 x 100"]
    assert said[2].startswith("-8.2012 mm: what this blank has beyond")
