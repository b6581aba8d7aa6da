"""A broken sheet is told of with what is wrong, where, and what to do; no wrong number ever comes out of it."""

import re
import tracemalloc
import zipfile
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from sheet_files import ACCEPTED, HEADER, book, cells, decisions, libreoffice, replaced, run, text

from service.sheets.kinds import kind_of

Printed = pytest.CaptureFixture[str]


def told(path: Path, capsys: Printed, *more: str) -> str:
    """What is said of a file that cannot be checked; nothing may be written beside it."""
    before = set(path.parent.iterdir())
    capsys.readouterr()
    assert run(path, "-o", path.parent / "checked.xlsx", *more) == 3
    assert set(path.parent.iterdir()) == before
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "Traceback" not in printed.err
    return printed.err


def rewritten(path: Path, part: str, change: Any) -> Path:
    """A workbook with one of its parts changed."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[part] = change(parts.get(part, b""))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def first_finding(path: Path, row: int) -> str:
    return str(cells(path)[row - 1][-2])


# Files.


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("orders.csv", b"", "it is empty"),
        ("orders.xlsx", b"", "it is empty"),
        ("orders.csv", b"  \r\n", "it is empty"),
        ("orders.xlsx", b"Ref,PD\r\n1,63\r\n", "no workbook, though its name says so"),
        ("orders.xlsx", b"PK\x03\x04" + bytes(100), "a damaged workbook"),
        ("orders.xls", bytes.fromhex("D0CF11E0A1B11AE1") + bytes(600), "an old Excel format"),
        ("orders.xlsx", bytes.fromhex("D0CF11E0A1B11AE1") + "EncryptedPackage".encode("utf-16-le"), "by a password"),
        ("orders.xls", b"<html><table><tr><td>Ref</td></tr></table></html>", "a web page or XML"),
        ("orders.csv", b"%PDF-1.7", "a PDF"),
        ("orders.csv", b"Ref,PD\n1,6\x003\n", "zero bytes"),
        ("orders.csv", "Ref,PD\n1,63\n".encode("utf-16-le"), "zero bytes"),
        ("orders.csv", "Ref,PD\n1,63\n".encode("utf-32"), "UTF-32"),
    ],
)
def test_what_is_no_sheet_is_told_by_what_it_is(
    tmp_path: Path, capsys: Printed, name: str, content: bytes, words: str
) -> None:
    (tmp_path / name).write_bytes(content)
    message = told(tmp_path / name, capsys)
    assert words in message
    assert name in message


def test_a_part_that_cannot_be_unpacked_is_told_and_one_of_any_size_is_not_unpacked(
    tmp_path: Path, capsys: Printed
) -> None:
    path = rewritten(book(tmp_path / "orders.xlsx", [ACCEPTED]), "mimetype", lambda _: bytes(64 << 20))
    tracemalloc.start()
    assert kind_of(path) == "workbook"
    assert tracemalloc.get_traced_memory()[1] < 4 << 20
    tracemalloc.stop()
    content = bytearray(path.read_bytes())
    begin = content.find(b"mimetype") + len("mimetype")
    content[begin : begin + 6] = b"\xff" * 6
    path.write_bytes(content)
    assert "a damaged workbook" in told(path, capsys)


def test_files_of_libreoffice_of_other_kinds_are_told_apart(tmp_path: Path, capsys: Printed) -> None:
    source = book(tmp_path / "orders.xlsx", [ACCEPTED])
    for kind, words in (("ods", "an OpenDocument file"), ("xls", "an old Excel format")):
        assert words in told(libreoffice(source, kind, tmp_path / "office"), capsys)


def test_a_missing_file_and_an_output_that_cannot_be_are_told(tmp_path: Path, capsys: Printed) -> None:
    source = book(tmp_path / "orders.xlsx", [ACCEPTED])
    for file, out, words in (
        (tmp_path / "none.xlsx", tmp_path / "o.xlsx", "cannot be opened"),
        (tmp_path, tmp_path / "o.xlsx", "it is no file"),
        (source, tmp_path / "o.ods", "neither in .xlsx nor in .csv"),
        (source, tmp_path / "nowhere" / "o.xlsx", "there is no folder"),
        (source, source, "the same file"),
    ):
        assert run(file, "-o", out) == 3
        assert words in capsys.readouterr().err


# Header.


def test_one_column_is_told_by_what_is_missing(tmp_path: Path, capsys: Printed) -> None:
    for path in (book(tmp_path / "a.xlsx", [["x"]], ["Names"]), text(tmp_path / "a.csv", [["x"]], ["Names"])):
        message = told(path, capsys)
        for words in (
            'Row 1 comes nearest and reads "Names"',
            "the sphere of the right eye",
            "the boxed width A",
            '"DBL"',
        ):
            assert words in message


def test_a_header_without_orders_is_told(tmp_path: Path, capsys: Printed) -> None:
    for path in (book(tmp_path / "a.xlsx", []), text(tmp_path / "a.csv", [])):
        assert "no order below them" in told(path, capsys)


def test_of_two_sheets_the_one_with_orders_is_taken_and_of_two_with_orders_the_name_is_asked_for(
    tmp_path: Path, capsys: Printed
) -> None:
    path = book(tmp_path / "orders.xlsx", [ACCEPTED], title="Monday")
    made = openpyxl.load_workbook(path)
    made.create_sheet("Prices", 0).append(["Frame", "Price"])
    made.save(path)
    assert run(path, "-o", tmp_path / "checked.xlsx") == 0
    assert openpyxl.load_workbook(tmp_path / "checked.xlsx").sheetnames[0] == "Monday"
    (tmp_path / "checked.xlsx").unlink()
    second = made.copy_worksheet(made["Monday"])
    second.title = "Tuesday"
    second["B2"] = -9
    made.save(path)
    message = told(path, capsys)
    assert '"Monday", "Tuesday"' in message
    assert "--sheet NAME" in message
    assert 'no sheet "Sunday"' in told(path, capsys, "--sheet", "Sunday")
    assert run(path, "-o", tmp_path / "checked.xlsx", "--sheet", "Tuesday") != 3
    assert cells(tmp_path / "checked.xlsx")[1][1] == -9


# Cells.


@pytest.mark.parametrize(
    ("column", "cell", "number_format", "code"),
    [
        ("R_cyl", datetime(2026, 1, 2), "d-mmm", "cell-became-date"),
        ("R_PD", datetime(2026, 10, 12), "dd/mm/yyyy", "cell-became-date"),
        ("R_PD", time(3, 15), "hh:mm", "cell-became-date"),
        ("R_PD", timedelta(days=31.5), "[h]:mm", "cell-became-date"),
        ("R_PD", 46034, "General", "figure-too-large"),
        ("R_PD", 0.315, "0.0%", "cell-percentage"),
        ("R_PD", True, "General", "cell-true-or-false"),
        ("R_PD", "#N/A", "General", "cell-error"),
        ("R_PD", "3l.5", "General", "letter-for-digit"),
        ("R_PD", "31.5/32", "General", None),
        ("R_sph", "2.25", "@", "power-unsigned"),
    ],
)
def test_a_cell_that_the_program_has_altered_is_refused_with_its_address(
    tmp_path: Path, column: str, cell: Any, number_format: str, code: str | None
) -> None:
    path = book(tmp_path / "orders.xlsx", [ACCEPTED, replaced(ACCEPTED, **{column: cell})])
    made = openpyxl.load_workbook(path)
    place = f"{openpyxl.utils.get_column_letter(HEADER.index(column.replace('_', ' ')) + 1)}3"
    made["Orders"][place].number_format = number_format
    made.save(path)
    assert run(path, "-o", tmp_path / "checked.xlsx") == 2
    assert decisions(tmp_path / "checked.xlsx") == ["accept", "unreadable"]
    assert f"Cell {place} " in first_finding(tmp_path / "checked.xlsx", 3)
    assert code is None or cells(tmp_path / "checked.xlsx")[2][-1] == code


def test_a_formula_without_its_value_is_told_and_never_taken_for_an_empty_cell(tmp_path: Path) -> None:
    # Without a look at the formulas the cylinder and its axis would be missing, and the order another one.
    path = book(tmp_path / "orders.xlsx", [replaced(ACCEPTED, R_cyl="=-0.25-0.5", R_axis="=5+5")])
    assert run(path, "-o", tmp_path / "checked.xlsx") == 2
    assert decisions(tmp_path / "checked.xlsx") == ["unreadable"]
    assert "Cell C2 " in first_finding(tmp_path / "checked.xlsx", 2)
    assert '"=-0.25-0.5"' in first_finding(tmp_path / "checked.xlsx", 2)


@pytest.mark.parametrize("sign", ['fullCalcOnLoad="1"', 'calcCompleted="0"'])
def test_values_of_formulas_that_wait_to_be_worked_out_are_not_relied_on(tmp_path: Path, sign: str) -> None:
    # Some programs put 0 for the value of each formula and leave it to the reader to work it out.
    path = book(tmp_path / "orders.xlsx", [replaced(ACCEPTED, R_sph="=-2-0.25")])
    with_value = rewritten(
        path, "xl/worksheets/sheet1.xml", lambda xml: re.sub(rb"</f><v ?/?>(</v>)?", b"</f><v>0</v>", xml)
    )
    assert b"</f><v>0</v>" in zipfile.ZipFile(with_value).read("xl/worksheets/sheet1.xml")
    settled = rewritten(path, "xl/workbook.xml", lambda xml: re.sub(rb"<calcPr[^>]*/>", b"<calcPr/>", xml))
    assert run(settled, "-o", tmp_path / "checked.xlsx") != 3
    assert cells(tmp_path / "checked.xlsx")[1][1] == 0
    waiting = rewritten(path, "xl/workbook.xml", lambda xml: xml.replace(b"<calcPr/>", f"<calcPr {sign}/>".encode()))
    assert run(waiting, "-o", tmp_path / "checked.xlsx") == 2
    assert decisions(tmp_path / "checked.xlsx") == ["unreadable"]
    assert "Cell B2 " in first_finding(tmp_path / "checked.xlsx", 2)


def test_merged_cells_are_told_with_their_address(tmp_path: Path, capsys: Printed) -> None:
    path = book(tmp_path / "orders.xlsx", [[*ACCEPTED, "a"], [*ACCEPTED, "b"], [*ACCEPTED, "c"]], (*HEADER, "Comments"))
    made = openpyxl.load_workbook(path)
    made["Orders"].merge_cells("P2:P3")  # a comment for two orders changes neither
    made["Orders"].merge_cells("C3:C4")
    made.save(path)
    assert run(path, "-o", tmp_path / "checked.xlsx") == 2
    assert decisions(tmp_path / "checked.xlsx") == ["accept", "unreadable", "unreadable"]
    for row in (3, 4):
        assert first_finding(tmp_path / "checked.xlsx", row).startswith("Cells C3:C4 are merged")
    (tmp_path / "checked.xlsx").unlink()
    made["Orders"].merge_cells("B1:D1")
    made.save(path)
    assert "cells B1:D1" in told(path, capsys)


def test_what_a_file_says_of_its_own_size_does_not_cut_it_off(tmp_path: Path) -> None:
    path = book(tmp_path / "orders.xlsx", [ACCEPTED, ACCEPTED])
    rewritten(
        path, "xl/worksheets/sheet1.xml", lambda xml: re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1"', xml)
    )
    assert run(path, "-o", tmp_path / "checked.xlsx") == 0
    assert decisions(tmp_path / "checked.xlsx") == ["accept", "accept"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'<row r="3"', b'<row r="1"'),  # out of order: the reader would pass the row over
        (b'<c r="B2"', b'<c r="A2"'),
        (b'<c r="B2"', b'<c r="B9"'),
        (b'<c r="O2"', b'<c r="ZZZ2"'),
        (b'<row r="3"', b'<row r="99999999999"'),
        (b"<sheetData>", b"<sheetData><"),
        (b"<worksheet", b'<!DOCTYPE x [<!ENTITY a "b">]><worksheet'),
    ],
)
def test_a_workbook_whose_cells_do_not_stand_where_they_say_is_refused(
    tmp_path: Path, capsys: Printed, old: bytes, new: bytes
) -> None:
    path = book(tmp_path / "orders.xlsx", [ACCEPTED, ACCEPTED])
    rewritten(path, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(old, new, 1))
    assert "a damaged workbook" in told(path, capsys)


def test_a_workbook_cut_off_anywhere_is_refused(tmp_path: Path, capsys: Printed) -> None:
    whole = book(tmp_path / "orders.xlsx", [ACCEPTED] * 20).read_bytes()
    path = tmp_path / "cut.xlsx"
    for share in range(1, 10):
        path.write_bytes(whole[: len(whole) * share // 10])
        assert "damaged" in told(path, capsys)


def test_a_million_rows_are_refused_and_a_million_empty_ones_are_not(tmp_path: Path, capsys: Printed) -> None:
    path = book(tmp_path / "orders.xlsx", [ACCEPTED])
    rows = b"".join(b'<row r="%d"><c r="A%d" s="0"/></row>' % (n, n) for n in range(3, 1_048_577))
    rewritten(path, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b"</sheetData>", rows + b"</sheetData>"))
    assert run(path, "-o", tmp_path / "checked.xlsx") == 0
    assert decisions(tmp_path / "checked.xlsx") == ["accept"]
    (tmp_path / "checked.xlsx").unlink()
    rewritten(path, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b' s="0"/>', b"><v>1</v></c>"))
    assert "more than 100,000 rows" in told(path, capsys)
    many = tmp_path / "many.csv"
    line = (",".join(str(cell) for cell in ACCEPTED) + "\n").encode()
    many.write_bytes(",".join(HEADER).encode() + b"\n" + line * 200_000)
    assert "more than 100,000 rows" in told(many, capsys)


# Text.


def test_a_quote_that_is_not_closed_is_told_with_its_row(tmp_path: Path, capsys: Printed) -> None:
    path = text(tmp_path / "orders.csv", [ACCEPTED, ACCEPTED])
    path.write_text(path.read_text().replace("W-1", '"W-1', 1), newline="")
    assert "row 2 cannot be parted into cells" in told(path, capsys)


def test_decimal_commas_that_part_cells_are_never_read_as_other_figures(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_text(",".join(HEADER) + "\n" + ",".join(str(cell).replace(".", ",") for cell in ACCEPTED) + "\n")
    assert run(path, "-o", tmp_path / "checked.xlsx") == 2
    assert decisions(tmp_path / "checked.xlsx") == ["unreadable"]


def test_options_that_do_not_fit_the_file_are_told(tmp_path: Path, capsys: Printed) -> None:
    assert "no sheets" in told(text(tmp_path / "a.csv", [ACCEPTED]), capsys, "--sheet", "Orders")
    assert "--encoding" in told(book(tmp_path / "a.xlsx", [ACCEPTED]), capsys, "--encoding", "utf-8")
