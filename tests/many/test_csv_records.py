"""Rows of a CSV text read as the standard library reads the whole of it, whatever its delimiter and wherever it is cut."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service import limits
from service.many.csv_records import DELIMITERS, Records, delimiter_of
from service.many.lines import Lines
from service.web.problems import Problem

HEADER = ["Order", "R sph", "L sph", "PD", "A", "B", "DBL"]
CELL = st.text(alphabet='ab1.,;\t"\n é-', max_size=6)


def read(text: bytes, cut: int = 7) -> tuple[list[tuple[int, list[str] | Problem]], str]:
    records, lines = Records(), Lines(limits.MAX_BODY_BYTES)
    parts = [text[at : at + cut] for at in range(0, len(text), cut)]
    found = [row for part in parts for line in lines.lines_of(part) for row in records.records_of(line)]
    found += [row for line in lines.last() for row in records.records_of(line)]
    records.end()
    return found, records.delimiter


def rows(text: bytes) -> list[list[str]]:
    found = [cells for _, cells in read(text)[0]]
    assert not [one for one in found if isinstance(one, Problem)]
    return found  # type: ignore[return-value]


@given(st.lists(st.lists(CELL, min_size=1, max_size=4), max_size=5), st.sampled_from(DELIMITERS), st.integers(1, 40))
def test_what_was_written_is_read_as_the_standard_library_reads_it(
    table: list[list[str]], delimiter: str, cut: int
) -> None:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter).writerows([HEADER, *table])
    expected = list(csv.reader(io.StringIO(text.getvalue(), newline=""), delimiter=delimiter, strict=True))
    found, taken = read(text.getvalue().encode(), cut)
    assert taken == delimiter
    assert found == [(number, cells) for number, cells in enumerate(expected, 1)]


@pytest.mark.parametrize("delimiter", DELIMITERS)
def test_the_delimiter_is_the_one_with_which_the_header_names_an_order(delimiter: str) -> None:
    assert delimiter_of(delimiter.join(HEADER)) == delimiter
    assert delimiter_of(delimiter.join(["Name, first", *HEADER])) == delimiter or delimiter == ","


def test_a_byte_order_mark_is_no_part_of_the_first_name() -> None:
    assert rows(b"\xef\xbb\xbfR sph,PD\r\n-2.25,63\r\n") == [["R sph", "PD"], ["-2.25", "63"]]


def test_empty_rows_count_and_a_row_with_a_line_break_in_a_cell_is_one() -> None:
    found, _ = read(b'R sph,PD\n\n"-2.25\nor so",63\n1,2')
    assert found == [(1, ["R sph", "PD"]), (2, []), (3, ["-2.25\nor so", "63"]), (4, ["1", "2"])]


@pytest.mark.parametrize(
    ("row", "code"),
    [(b'"a"b,1', "row-not-csv"), (b"a\rb,1", "row-not-csv"), (b"M\xfcller,1", "not-utf8")],
)
def test_a_row_that_cannot_be_read_is_told_in_its_place_and_stops_nothing(row: bytes, code: str) -> None:
    found, _ = read(b"R sph,PD\n" + row + b"\n-2.25,63\n")
    number, problem = found[1]
    assert (number, found[2]) == (2, (3, ["-2.25", "63"]))
    assert isinstance(problem, Problem)
    assert [fault.code for fault in problem.errors] == [code]
    assert "Row 2" in problem.detail


def test_a_quote_that_is_never_closed_stops_the_reading_and_names_its_row() -> None:
    with pytest.raises(Problem) as stopped:
        read(b'R sph,PD\n-2.25,63\n"-2.25,63\n-2.50,64\n')
    assert "Row 3" in stopped.value.detail
    longest = b"-2.50,64\n" * (limits.MAX_BODY_BYTES // 9 + 2)
    with pytest.raises(Problem) as stopped:
        read(b'R sph,PD\n"-2.25,63\n' + longest, 65_536)
    assert "Row 2" in stopped.value.detail


def test_a_row_without_end_stops_the_reading() -> None:
    with pytest.raises(Problem) as stopped:
        read(b"R sph,PD\n" + b"x" * (limits.MAX_BODY_BYTES + 1) + b"\n1,2\n", 65_536)
    assert stopped.value.kind.code == "body-too-large"


def test_a_quote_within_a_cell_opens_nothing() -> None:
    assert rows(b'R sph,Name\n-2.25,5" wide\n-2.50,x\n')[1:] == [["-2.25", '5" wide'], ["-2.50", "x"]]
