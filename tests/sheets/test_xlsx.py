"""The workbook that is written, opened by another library: every value, title and day is what was given."""

from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sheet_files import ACCEPTED, HEADER, book, cells, libreoffice, run, text

from service.sheets.xlsx import PLAIN, Book, Style

steady = settings(
    derandomize=True, database=None, deadline=None, max_examples=150, suppress_health_check=list(HealthCheck)
)
# What both XML and the rows of this test can hold; a lone carriage return is written as a line break.
TEXT = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff"), min_size=1, max_size=60
)
DAY = date(2026, 11, 25)
DAYS = st.datetimes(datetime(1900, 3, 1), datetime(2999, 12, 31)).map(lambda day: day.replace(microsecond=0))
VALUES = st.one_of(TEXT, DAYS, st.booleans(), st.integers(-(10**9), 10**9), st.floats(-1e9, 1e9, allow_nan=False))


def written(path: Path, rows: list[list[Any]]) -> list[list[Any]]:
    made = Book(path)
    sheet = made.sheet("Any", [10] * 3)
    for row in rows:
        sheet.append([(value, PLAIN) for value in row])
    made.save(DAY)
    return [list(row) for row in openpyxl.load_workbook(path).worksheets[0].iter_rows(values_only=True)]


@steady
@given(st.lists(st.lists(VALUES, min_size=3, max_size=3), min_size=1, max_size=4))
def test_every_value_comes_back_as_it_was_given(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[Any]]
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.xlsx"
    for row, back in zip(rows, written(path, rows), strict=True):
        for value, seen in zip(row, back, strict=True):
            assert type(seen) is type(value) or {type(seen), type(value)} == {int, float}
            assert seen == value if not isinstance(value, float) else seen == pytest.approx(value, rel=1e-15)


def test_days_and_times_are_days_and_times_in_both_programs(tmp_path: Path) -> None:
    row = [date(2026, 6, 1), datetime(2026, 6, 1, 13, 30), time(7, 45), timedelta(hours=30), date(1850, 1, 2)]
    back = written(tmp_path / "days.xlsx", [row])[0]
    assert back == [datetime(2026, 6, 1), datetime(2026, 6, 1, 13, 30), time(7, 45), timedelta(hours=30), "1850-01-02"]
    seen = cells(
        libreoffice(tmp_path / "days.xlsx", "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true", tmp_path / "o")
    )
    assert seen[0] == ["2026-06-01", "2026-06-01 13:30:00", "07:45:00", "30:00:00", "1850-01-02"]


def test_what_xml_cannot_hold_is_marked_and_breaks_nothing(tmp_path: Path) -> None:
    row = ["a\x00b\x0bc", "<&>\"'", "one\r\ntwo", " blanks ", "x" * 40_000, float("inf")]
    back = written(tmp_path / "odd.xlsx", [row])[0]
    assert back == ["a\ufffdb\ufffdc", "<&>\"'", "one\ntwo", " blanks ", "x" * 32_767, "inf"]


def test_a_long_text_is_cut_at_a_whole_character(tmp_path: Path) -> None:
    # 32,767 units of UTF-16 are the longest text of a cell; each of these characters takes two.
    back = written(tmp_path / "long.xlsx", [["\N{GRINNING FACE}" * 20_000]])[0]
    assert back == ["\N{GRINNING FACE}" * 16_383]


@pytest.mark.parametrize(
    "trap",
    [
        # What the library takes for its own XML of a text in several fonts.
        "<r><t>x</t></r>", "<r></r>", "<r>&<</r>", "<r> a </r>", f"<r>{'x' * 32_756}</r>",
        "=1+1", "{=1+1}", "http://127.0.0.1/", "mailto:a@b.example", "internal:Any!A1", "007", "1e5", "TRUE", "#N/A", "",
    ],
)  # fmt: skip
@pytest.mark.parametrize("style", [PLAIN, Style(bold=True)])
def test_text_is_text_whatever_it_looks_like(tmp_path: Path, trap: str, style: Style) -> None:
    made = Book(tmp_path / "any.xlsx")
    made.sheet("Any", []).append([(trap, style)])
    made.save(DAY)
    cell = openpyxl.load_workbook(tmp_path / "any.xlsx").worksheets[0]["A1"]
    assert (cell.value, cell.data_type, cell.hyperlink, bool(cell.font.b)) == (trap, "s", None, style.bold)


def test_text_that_looks_like_the_mark_of_a_character_is_shown_as_it_was_typed(tmp_path: Path) -> None:
    # ECMA-376 part 1, 22.9.2.19 and 22.4.2.4: _xHHHH_ stands for a character, _x005F_ for the underscore before such a text.
    trap = "_x0041_"
    source = text(tmp_path / "orders.csv", [[*ACCEPTED, trap]], (*HEADER, "Comments"))
    assert run(source, "-o", tmp_path / "checked.xlsx") == 0
    # Read and written again it stays the same.
    assert run(tmp_path / "checked.xlsx", "-o", tmp_path / "again.xlsx") == 0
    assert run(tmp_path / "again.xlsx", "-o", tmp_path / "again.csv") == 0
    assert cells(tmp_path / "again.csv")[1][len(HEADER)] == trap
    shown = libreoffice(tmp_path / "again.xlsx", "csv", tmp_path / "o")
    assert cells(shown)[1][len(HEADER)] == trap


def test_line_ends_of_a_spreadsheet_program_become_line_ends(tmp_path: Path) -> None:
    # A carriage return stands in a workbook as _x000D_; a pair of halves as two marks is one character.
    rows = [[*ACCEPTED, "one_x000D_\ntwo"], [*ACCEPTED, "_xD83D__xDE00_ _xD83D_"]]
    source = book(tmp_path / "orders.xlsx", rows, (*HEADER, "Com_x000D_\nments"))
    for out in ("checked.xlsx", "checked.csv"):
        assert run(source, "-o", tmp_path / out) == 0
        held = [row[len(HEADER)].replace("\r", "") for row in cells(tmp_path / out)]
        assert held == ["Com\nments", "one\ntwo", "\N{GRINNING FACE} \ufffd"]


def test_rows_may_be_added_to_several_sheets_in_turn(tmp_path: Path) -> None:
    made = Book(tmp_path / "any.xlsx")
    first, second = made.sheet("First", []), made.sheet("Second", [])
    for number in range(300):
        first.append([(number, PLAIN)] if number % 3 else [])
        second.append([(-number, PLAIN), ("x", PLAIN)])
    made.sheet("Third", []).append([("last", PLAIN)])
    made.save(DAY)
    seen = openpyxl.load_workbook(tmp_path / "any.xlsx").worksheets
    assert [cell.value for cell in seen[0]["A"]] == [number if number % 3 else None for number in range(300)]
    assert [cell.value for cell in seen[1]["A"]] == [-number for number in range(300)]
    assert seen[2]["A1"].value == "last"


@pytest.mark.parametrize("ends", ["save", "drop"])
def test_no_file_of_rows_is_left(tmp_path: Path, ends: str) -> None:
    kept = tmp_path / "any.xlsx.rows"
    kept.mkdir()
    (kept / "of-a-run-that-was-killed").write_text("rows")
    made = Book(tmp_path / "any.xlsx")
    made.sheet("Any", []).append([(1, PLAIN)])
    made.sheet("Other", [])
    assert len([*kept.iterdir()]) == 2, "one file for each sheet, and none of the run before"
    if ends == "save":
        made.save(DAY)
    else:
        made.drop()
    assert [path.name for path in tmp_path.iterdir()] == (["any.xlsx"] if ends == "save" else [])


@pytest.mark.parametrize(
    ("title", "kept"),
    [
        ("Orders", "Orders"),
        ("Findings", "Orders"),
        ("about", "Orders"),
        ("Monday's <orders> & more", "Monday's <orders> & more"),
        ("x" * 31, "x" * 31),
    ],
)
def test_a_title_stays_where_it_can(tmp_path: Path, title: str, kept: str) -> None:
    source = book(tmp_path / "orders.xlsx", [ACCEPTED], title=title)
    assert run(source, "-o", tmp_path / "checked.xlsx") == 0
    made = openpyxl.load_workbook(tmp_path / "checked.xlsx")
    assert made.sheetnames == [kept, "Findings", "About"]
    assert made.worksheets[0].auto_filter.ref == "A1:AD2"


def test_titles_that_no_program_takes_are_changed_and_are_never_twice_the_same(tmp_path: Path) -> None:
    made = Book(tmp_path / "any.xlsx")
    asked = ("a/b:c[d]", "", "X" * 40, "x" * 40, "Findings", "findings", "y" * 30 + "'s", "\N{GRINNING FACE}" * 20)
    titles = [made.sheet(title, []).title for title in asked]
    made.drop()
    assert titles[:6] == ["a b c d", "Sheet", "X" * 31, "x" * 29 + " 2", "Findings", "findings 2"]
    assert titles[6:] == ["y" * 30, "\N{GRINNING FACE}" * 15]


def test_a_workbook_is_dated_by_the_day_it_is_of(tmp_path: Path) -> None:
    written(tmp_path / "any.xlsx", [["x"]])
    held = openpyxl.load_workbook(tmp_path / "any.xlsx").properties
    assert held.created == held.modified == datetime(2026, 11, 25)


def test_the_same_cells_give_the_same_bytes(tmp_path: Path) -> None:
    source = book(tmp_path / "orders.xlsx", [ACCEPTED])
    for name in ("one.xlsx", "two.xlsx"):
        run(source, "-o", tmp_path / name)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


def test_a_form_of_the_persons_own_country_stays_one(tmp_path: Path) -> None:
    made = Book(tmp_path / "any.xlsx")
    sheet = made.sheet("Any", [])
    sheet.append([(date(2026, 6, 1), Style("mm-dd-yy")), (1.5, Style('+0.00" D"', bold=True))])
    made.save(DAY)
    row = next(openpyxl.load_workbook(tmp_path / "any.xlsx").worksheets[0].iter_rows())
    assert [cell.number_format for cell in row] == ["mm-dd-yy", '+0.00" D"']
    assert row[0].style_id != row[1].style_id
    assert row[1].font.b
