"""The reader for a table of orders: names of columns, cells a spreadsheet has altered, and the order of a row."""

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
from columns_spellings import (
    ANOTHER_UNIT,
    FORMS_OF_EACH_EYE,
    LEFT,
    NOT_CLEAR,
    NOTHING_OF_AN_ORDER,
    RIGHT,
    RUN_TOGETHER,
    WITHOUT_AN_EYE,
)
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.contract.order import Order
from service.reading.cell_remarks import EXPECTED, TROUBLES, CellRemark, address, is_empty
from service.reading.columns import NOTES, Columns, RowReading, columns_of, order_document

steady = settings(
    derandomize=True, database=None, deadline=None, max_examples=400, suppress_health_check=list(HealthCheck)
)

HEADER = ("R sph", "R cyl", "R axis", "L sph", "L cyl", "L axis", "PD", "A", "B", "DBL")
ROW: tuple[object, ...] = (-2.25, -0.75, 10, 1.5, None, None, 63, 54, 40, 18)
DOCUMENT: dict[str, Any] = {
    "prescription": {"right": {"sphere": -2.25, "cylinder": -0.75, "axis": 10}, "left": {"sphere": 1.5}},
    "pd_mm": {"both": 63},
    "frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18},
}


def pointers(columns: Columns) -> list[str]:
    """Where the first column's figure goes."""
    meaning = columns.columns[0].meaning
    return [] if meaning is None else ["/" + "/".join(path) for path in meaning.paths]


def header_codes(*header: object) -> list[str]:
    return [remark.code for remark in columns_of(header).remarks if remark.code != "column-missing"]


def read(names: Sequence[object] = (), cells: Sequence[object] = (), *, instead: Sequence[object] = ROW) -> RowReading:
    """Row 7 of a table with the usual columns and these."""
    return order_document(columns_of([*HEADER, *names]), [*instead, *cells], 7)


def read_with(name: str, cell: object) -> RowReading:
    """The usual row with one cell replaced, or added where the name is a new one."""
    if name in HEADER:
        at = HEADER.index(name)
        return read(instead=[*ROW[:at], cell, *ROW[at + 1 :]])
    return read([name], [cell])


def codes(reading: RowReading) -> list[str]:
    return [remark.code for remark in reading.remarks]


# Names of columns.


@pytest.mark.parametrize(("form", "member", "figure"), FORMS_OF_EACH_EYE)
def test_a_figure_of_one_eye_is_known_by_many_names(form: str, member: str, figure: str) -> None:
    for side, eyes in (("right", RIGHT), ("left", LEFT)):
        for eye in eyes:
            header = form.format(eye=eye, figure=figure)
            assert pointers(columns_of([header])) == [f"/prescription/{side}/{member}"], header


@pytest.mark.parametrize(("header", "pointer"), RUN_TOGETHER)
def test_words_run_together_are_parted(header: str, pointer: str) -> None:
    assert pointers(columns_of([header])) == [pointer]


@pytest.mark.parametrize(("pointer", "header"), [(to, one) for to, names in WITHOUT_AN_EYE.items() for one in names])
def test_every_other_member_is_known_by_many_names(pointer: str, header: str) -> None:
    assert pointers(columns_of([header])) == [pointer]
    assert header_codes(header) == []


@pytest.mark.parametrize(
    "change", [str.upper, str.lower, str.title, lambda name: f"  {name} :", lambda name: f"*{name}*"]
)
@pytest.mark.parametrize(("pointer", "header"), [(to, names[0]) for to, names in WITHOUT_AN_EYE.items()])
def test_case_blanks_and_punctuation_of_a_name_play_no_part(pointer: str, header: str, change: Any) -> None:
    assert pointers(columns_of([change(header)])) == [pointer]


@pytest.mark.parametrize("header", NOTHING_OF_AN_ORDER)
def test_a_name_about_something_else_is_kept_and_reported(header: str) -> None:
    columns = columns_of([*HEADER, header])
    assert [remark.code for remark in columns.remarks] == ["column-unknown"]
    assert columns.remarks[0].address == "K1"
    reading = read([header], [datetime(2026, 10, 12)])
    assert reading.document == DOCUMENT
    assert reading.unknown == {header: datetime(2026, 10, 12)}


@pytest.mark.parametrize("header", NOT_CLEAR)
def test_a_name_that_is_not_clear_refuses_every_row_in_which_it_is_filled(header: str) -> None:
    assert header_codes(header) == ["column-not-clear"]
    assert codes(read([header], [-1.5])) == ["column-not-used"]
    assert read([header], [-1.5]).document is None
    assert read([header], [" "]).document == DOCUMENT


@pytest.mark.parametrize("header", ANOTHER_UNIT)
def test_another_unit_in_a_name_is_reported_and_nothing_is_converted(header: str) -> None:
    assert header_codes(header) == ["column-unit"]
    assert read([header], [5.4]).document is None


def test_two_columns_for_one_figure_are_both_refused() -> None:
    columns = columns_of([*HEADER, "OD sphere"])
    assert [(remark.code, remark.address) for remark in columns.remarks] == [
        ("column-twice", "A1"),
        ("column-twice", "K1"),
    ]
    assert "K1" in columns.remarks[0].message
    reading = order_document(columns, [*ROW, -2.25], 2)
    assert [(remark.code, remark.address) for remark in reading.remarks] == [
        ("column-not-used", "A2"),
        ("column-not-used", "K2"),
    ]


def test_an_addition_without_an_eye_goes_to_both_and_is_reported() -> None:
    assert header_codes("Add") == ["column-for-both-eyes"]
    assert header_codes("Add OU") == []
    document = read(["Add"], [2]).document
    assert document is not None
    assert [document["prescription"][eye]["add"] for eye in ("right", "left")] == [2, 2]


def test_a_fitting_height_without_an_eye_goes_to_both() -> None:
    document = read(["Fitting height"], ["22 mm"]).document
    assert document is not None
    assert document["fitting_height_mm"] == {"right": 22, "left": 22}


@pytest.mark.parametrize("left_out", ["R sph", "L sph", "PD", "A", "B", "DBL"])
def test_a_column_an_order_needs_is_missed_in_the_header_and_in_every_row(left_out: str) -> None:
    header = [name for name in HEADER if name != left_out]
    columns = columns_of(header)
    assert [(remark.code, remark.address, remark.column) for remark in columns.missing] == [
        ("column-missing", "", left_out)
    ]
    reading = order_document(columns, [cell for name, cell in zip(HEADER, ROW, strict=True) if name != left_out], 2)
    assert reading.document is None
    assert reading.remarks == columns.missing


def test_halves_of_the_pd_do_for_the_pd() -> None:
    header = [name for name in HEADER if name != "PD"] + ["PD R", "PD L"]
    reading = order_document(columns_of(header), [*ROW[:6], *ROW[7:], 31, "32,5"], 2)
    assert reading.document is not None
    assert reading.document["pd_mm"] == {"right": 31, "left": 32.5}


def test_a_header_that_is_no_text_is_kept_as_unknown() -> None:
    assert header_codes(2026) == ["column-unknown"]
    assert read([2026], ["x"]).unknown == {"2026": "x"}


def test_unknown_columns_of_one_name_are_told_apart() -> None:
    assert read(["Notes", "Notes"], ["one", "two"]).unknown == {"Notes": "one", "Notes (L7)": "two"}


def test_notes_on_a_header_keep_no_row_from_being_read() -> None:
    columns = columns_of([*HEADER, "Notes", "Add"])
    assert {remark.code for remark in columns.remarks} == NOTES
    assert order_document(columns, ROW, 2).document == DOCUMENT


# Addresses.


@pytest.mark.parametrize(
    ("index", "letters"),
    [
        *enumerate("ABCDEFGHIJKLMNOPQRSTUVWXYZ"), (26, "AA"), (27, "AB"), (51, "AZ"), (52, "BA"),
        (701, "ZZ"), (702, "AAA"), (16383, "XFD"),
    ],
)  # fmt: skip
def test_addresses_count_like_a_spreadsheet(index: int, letters: str) -> None:
    assert address(index, 7) == f"{letters}7"


@given(st.integers(0, 100_000))
@steady
def test_an_address_gives_back_its_column(index: int) -> None:
    letters = address(index, 1)[:-1]
    place = 0
    for letter in letters:
        place = 26 * place + ord(letter) - ord("A") + 1
    assert place - 1 == index


def test_a_pointer_into_the_document_leads_back_to_its_cell() -> None:
    columns = columns_of([*HEADER, "Add", "R prism", "R base"])
    assert columns.cell_of("/prescription/right/axis", 7) == "C7"
    assert columns.cell_of("/frame/dbl_mm", 12) == "J12"
    assert columns.cell_of("/prescription/left/add", 7) == "K7"
    assert columns.cell_of("/prescription/right/prism/0/amount", 7) == "L7"
    assert columns.cell_of("/lens/material", 7) is None
    assert columns.cell_of("", 7) is None


# Cells that are read.

NUMBERS = [
    ("R sph", "-2.25", -2.25), ("R sph", "+1.50", 1.5), ("R sph", "−2,25", -2.25), ("R sph", "–2.25", -2.25),
    ("R sph", "plano", 0),
    ("R sph", "PL", 0), ("R sph", "0", 0), ("R sph", "0.00", 0), ("R sph", "-2.25 DS", -2.25),
    ("R sph", "-2.25D", -2.25),
    ("R sph", " -2.25\u00a0", -2.25), ("R sph", "-.75", -0.75), ("R sph", "-2", -2), ("R sph", "minus 2.25", -2.25),
    ("R sph", 2.25, 2.25),
    ("R sph", 0, 0), ("R sph", "－２．２５", -2.25), ("R cyl", "-0,75", -0.75), ("R cyl", "plano", 0), ("R cyl", 0.75, 0.75),
    ("R cyl", "DS", None), ("R cyl", "-", None), ("R cyl", "–", None), ("R cyl", "sph", None), ("R cyl", "", None),
    ("R axis", "010", 10), ("R axis", 10.0, 10), ("R axis", "90°", 90), ("R axis", "x 180", 180), ("R axis", "-", None),
    ("R axis", "5", 5), ("R add", "2.00", 2), ("R add", "+2,25", 2.25), ("R add", 2.5, 2.5),
]  # fmt: skip


@pytest.mark.parametrize(("name", "cell", "value"), NUMBERS)
def test_a_figure_is_read_as_it_is_written(name: str, cell: object, value: float | None) -> None:
    reading = read_with(name, cell)
    assert reading.remarks == ()
    assert reading.document is not None
    member = {"R sph": "sphere", "R cyl": "cylinder", "R axis": "axis", "R add": "add"}[name]
    assert reading.document["prescription"]["right"].get(member) == value


@pytest.mark.parametrize(
    ("name", "cell", "section", "member", "value"),
    [
        ("A", "54,5 mm", "frame", "a_mm", 54.5), ("B", "40", "frame", "b_mm", 40), ("ED", 58.5, "frame", "ed_mm", 58.5),
        ("Rim", "Full rim", "frame", "rim", "full"), ("Rim", "Rimless", "frame", "rim", "drilled"),
        ("Rim", "semi-rimless", "frame", "rim", "grooved"), ("Use", "Reading", "lens", "use", "near"),
        ("Use", "PROGRESSIVE", "lens", "use", "progressive"),
        ("Material", "Hard resin 1.50", "lens", "material", "hard-resin-1.50"),
        ("Material", "Polycarbonate", "lens", "material", "polycarbonate"),
        ("Blank dia", "70", "lens", "blank_diameter_mm", 70),
        ("Age", "34 years", "wearer", "age_years", 34), ("Age", 34, "wearer", "age_years", 34),
        ("Useful eyes", "Right eye", "wearer", "useful_eyes", "right"),
        ("BVD refracted", "12", "prescription", "vertex_distance_mm", 12),
        ("BVD worn", 13.5, "as_worn", "vertex_distance_mm", 13.5),
        ("Issued", "2026-06-01", "prescription", "issued_on", "2026-06-01"),
        ("Issued", date(2026, 6, 1), "prescription", "issued_on", "2026-06-01"),
        ("Issued", datetime(2026, 6, 1), "prescription", "issued_on", "2026-06-01"),
        ("Expires", "2027-06-01 00:00:00", "prescription", "expires_on", "2027-06-01"),
    ],
)  # fmt: skip
def test_other_members_are_read_as_the_contract_has_them(
    name: str, cell: object, section: str, member: str, value: object
) -> None:
    document = read_with(name, cell).document
    assert document is not None
    assert document[section][member] == value
    Order.model_validate(document)


@pytest.mark.parametrize(
    ("cell", "reference"), [(1042, "1042"), (1042.0, "1042"), (" W-1042 ", "W-1042"), ("010", "010")]
)
def test_a_reference_is_text_also_where_the_spreadsheet_made_it_a_number(cell: object, reference: str) -> None:
    document = read_with("Order no", cell).document
    assert document is not None
    assert document["reference"] == reference


@pytest.mark.parametrize(
    ("names", "cells", "prism"),
    [
        (["R prism", "R base"], [1.5, "In"], [(1.5, "in")]),
        (["R prism", "R base"], ["1,5 Δ", "base out"], [(1.5, "out")]),
        (["R prism", "R base"], ["2", "BU"], [(2, "up")]),
        (["R prism", "R base"], [2, 135], [(2, 135)]),
        (["R prism"], ["1 BI"], [(1, "in")]),
        (["R prism"], ["1.5 base in / 0.5 base up"], [(1.5, "in"), (0.5, "up")]),
        (["R prism H", "R base H", "R prism V", "R base V"], [1, "in", 0.5, "down"], [(1, "in"), (0.5, "down")]),
        (["R prism 1", "R base 1", "R prism 2", "R base 2"], [1, "in", 0.5, "down"], [(1, "in"), (0.5, "down")]),
        (["R prism"], [0], None),
    ],
)
def test_a_prism_is_read_with_its_base(
    names: list[str], cells: list[object], prism: list[tuple[float, object]] | None
) -> None:
    reading = read(names, cells)
    assert reading.document is not None, reading.remarks
    found = reading.document["prescription"]["right"].get("prism")
    assert found == (None if prism is None else [{"amount": amount, "base": base} for amount, base in prism])
    Order.model_validate(reading.document)


def test_a_prescription_as_text_stands_for_both_eyes() -> None:
    columns = columns_of(["Rx", "PD", "A", "B", "DBL"])
    text = "R -2.25 -0.75 x 10  L -2.50 DS"
    assert order_document(columns, [text, 63, 54, 40, 18], 2).document == {
        **DOCUMENT,
        "prescription": {"written": text},
    }
    empty = order_document(columns, [None, 63, 54, 40, 18], 2)
    assert [(remark.code, remark.address) for remark in empty.remarks] == [("cell-missing", "A2")]


def test_an_empty_row_is_neither_an_order_nor_a_fault() -> None:
    assert read(instead=[None, "", "  ", *ROW[3:3]]) == RowReading(None, (), {})


def test_a_row_shorter_than_the_header_has_empty_cells() -> None:
    assert order_document(columns_of([*HEADER, "Use"]), ROW, 2).document == DOCUMENT


# Cells that are refused.

REFUSED = [
    ("cell-became-date", "R axis", datetime(2026, 12, 10)), ("cell-became-date", "R cyl", date(2026, 10, 12)),
    ("cell-became-date", "PD", time(10, 30)), ("cell-became-date", "PD", datetime(1932, 1, 31)),
    ("cell-became-date", "A", timedelta(1)),
    ("cell-became-date", "R axis", "10-Dec"), ("cell-became-date", "R axis", "Dec-10"),
    ("cell-became-date", "R sph", "01/02/2026"),
    ("cell-became-date", "R axis", "2026-12-10"), ("cell-became-date", "Order no", date(2026, 10, 12)),
    ("cell-true-or-false", "R cyl", False), ("cell-true-or-false", "Material", True),
    ("cell-true-or-false", "R sph", True),
    ("cell-not-readable", "PD", Decimal("63")), ("cell-not-readable", "PD", [63]),
    ("cell-not-readable", "Rim", b"full"),
    ("cell-percentage", "A", "50%"), ("cell-percentage", "R axis", "0.5 %"),
    ("cell-error", "R cyl", "#REF!"), ("cell-error", "PD", "#VALUE!"), ("cell-error", "A", "#N/A"),
    ("cell-error", "B", "#NAME?"),
    ("cell-error", "Order no", "#DIV/0!"), ("cell-error", "PD", "Err:502"), ("cell-error", "PD", "####"),
    ("cell-error", "R sph", float("nan")), ("cell-error", "R sph", float("inf")),
    ("cell-formula", "R sph", "=A1*2"), ("cell-formula", "Order no", "=HYPERLINK(1)"),
    ("cell-unit", "A", "5.4 cm"), ("cell-unit", "A", "5.4cm"), ("cell-unit", "PD", '2.5"'),
    ("cell-unit", "PD", "2.5 in"),
    ("date-is-number", "Issued", 46174), ("date-is-number", "Expires", 46174.5),
    ("date-not-clear", "Issued", "01/02/2026"), ("date-not-clear", "Issued", "1.2.2026"),
    ("date-not-clear", "Issued", "2026-02-30"),
    ("date-not-clear", "Issued", "June"),
    ("number-for-word", "Material", 1.67), ("number-for-word", "Rim", 1), ("number-for-word", "Order no", 10.5),
    ("word-not-known", "Rim", "metal"), ("word-not-known", "Use", "single vision"),
    ("figure-too-large", "R sph", 46000), ("figure-too-large", "PD", "46000"), ("figure-too-large", "R axis", 10**400),
    ("figure-not-clear", "R sph", "balance"), ("figure-not-clear", "R sph", "same"), ("figure-not-clear", "R sph", "-"),
    ("figure-not-clear", "R sph", "20/20"), ("figure-not-clear", "A", "-54"), ("figure-not-clear", "R sph", "9" * 5000),
    ("figure-not-clear", "A", "9" * 50), ("figure-not-clear", "R axis", "ninety"),
    ("more-than-one-figure", "PD", "31/32"), ("more-than-one-figure", "PD", "1/2"),
    ("more-than-one-figure", "R axis", "10-12"),
    ("more-than-one-figure", "R sph", "-2.25 -0.75"), ("more-than-one-figure", "R sph", "-2.2 5"),
    ("more-than-one-figure", "A", "54 18"),
    ("letter-for-digit", "R sph", "-l.25"), ("letter-for-digit", "R sph", "-2.5O"), ("letter-for-digit", "R sph", "O"),
    ("letter-for-digit", "R axis", "O1O"), ("letter-for-digit", "PD", "6I"), ("letter-for-digit", "R sph", "-2.l5"),
    ("power-unsigned", "R sph", "2.25"), ("power-unsigned", "R cyl", "0,75"),
    ("hundredths-without-point", "R sph", "-225"), ("power-without-point", "R sph", "-227"),
    ("whole-dioptres", "R sph", "-10"),
    ("hundredths-without-point", "R add", "250"),
    ("sign-apart", "R sph", "- 2.25"), ("sign-doubled", "R sph", "+-2.25"), ("sign-doubled", "R sph", "plus -2.25"),
    ("axis-signed", "R axis", "+90"), ("axis-signed", "R axis", -90), ("axis-not-whole", "R axis", 10.5),
    ("axis-not-whole", "R axis", 0.1),
    ("axis-not-whole", "R axis", "10.5"), ("axis-not-whole", "R axis", "90,0"),
    ("prism-signed", "R prism", -1), ("prism-signed", "R prism", "+1"), ("prism-without-base", "R prism", "1 Δ"),
    ("prism-without-base", "R prism", 1), ("base-without-prism", "R base", "in"), ("base-not-clear", "R base", 400),
    ("base-not-clear", "R base", "in/out"), ("base-not-clear", "R base", "O x"),
    ("base-not-clear", "R prism H", "1 BU"),
    ("cell-missing", "R sph", None), ("cell-missing", "A", "  "), ("cell-missing", "PD", ""),
    ("column-without-name", "", "x"), ("column-not-used", "Axis", 90),
]  # fmt: skip


@pytest.mark.parametrize(("code", "name", "cell"), REFUSED)
def test_a_cell_that_is_not_understood_is_a_finding_and_never_a_number(code: str, name: str, cell: object) -> None:
    reading = read_with(name, cell)
    assert codes(reading) == [code]
    assert reading.document is None
    remark = reading.remarks[0]
    place = address(HEADER.index(name) if name in HEADER else len(HEADER), 7)
    assert remark.address == place
    assert remark.column == name
    assert_house_style(remark)


def assert_house_style(remark: CellRemark) -> None:
    """What was read, what is expected, what to do, with the place; no blame."""
    assert len(remark.said) <= 40
    assert remark.address in remark.message
    assert remark.said in remark.message
    assert remark.message.count(". ") >= 2
    assert remark.message.endswith(".")
    assert "invalid" not in remark.message.lower()
    assert "\n" not in remark.message


def test_every_kind_of_trouble_has_an_example() -> None:
    assert set(TROUBLES) <= {code for code, _, _ in REFUSED}
    assert all(text.endswith(".") for _, text in TROUBLES.values())
    assert all(text[0].isupper() for text in EXPECTED.values())


def test_the_cell_is_quoted_on_one_line_and_cut_to_forty_characters() -> None:
    remark = read_with("R sph", "one\ntwo " + "x" * 100).remarks[0]
    assert remark.said == ("one two " + "x" * 31 + "…")
    assert len(remark.said) == 40


def test_a_cell_beyond_the_header_is_refused_since_a_comma_may_have_parted_a_figure() -> None:
    reading = order_document(columns_of(HEADER), ["-2", "25", *ROW[1:]], 3)
    assert ("cell-beyond-columns", "K3") in [(remark.code, remark.address) for remark in reading.remarks]
    assert reading.document is None


@pytest.mark.parametrize(
    ("names", "cells", "code", "place"),
    [
        (["Add", "R add"], [2, 2], "figure-twice", "L7"),
        (["R prism", "R base"], ["1 BI", "in"], "figure-twice", "L7"),
        (["R prism H", "R base H"], [1, "up"], "base-not-clear", "L7"),
        (["R prism V", "R base V"], [1, 90], "base-not-clear", "L7"),
    ],
)
def test_cells_that_do_not_go_together_are_a_finding(
    names: list[str], cells: list[object], code: str, place: str
) -> None:
    reading = read(names, cells)
    assert [(remark.code, remark.address) for remark in reading.remarks] == [(code, place)]
    assert reading.document is None


def test_figures_beside_a_prescription_as_text_are_a_finding_each() -> None:
    reading = read(["Rx", "Issued", "R prism", "R base"], ["R -1.00 L -1.00", "2026-06-01", 1, "in"])
    assert set(codes(reading)) == {"figure-beside-text"}
    assert [remark.address for remark in reading.remarks] == ["A7", "B7", "C7", "D7", "L7", "M7", "N7"]
    assert all("K7" in remark.message for remark in reading.remarks)


def test_every_trouble_of_a_row_is_told_at_once() -> None:
    reading = read(instead=["2.25", True, 10.5, "#REF!", *ROW[4:]])
    assert codes(reading) == ["power-unsigned", "cell-true-or-false", "axis-not-whole", "cell-error"]


# Properties.

quarters = st.integers(-40, 40).map(lambda steps: steps / 4)
SIGNS = st.sampled_from(("-", "\u2212", "\u2013"))
POINTS = st.sampled_from((".", ","))


def power_cells(value: float) -> st.SearchStrategy[object]:
    """The ways to write a power: a number cell, or text with its sign."""
    text = st.builds(
        lambda minus, point, end: ("+" if value >= 0 else minus) + f"{abs(value):.2f}".replace(".", point) + end,
        SIGNS,
        POINTS,
        st.sampled_from(("", " D", "D", " ")),
    )
    return st.one_of(st.just(value), text)


def length_cells(value: float) -> st.SearchStrategy[object]:
    text = st.builds(
        lambda point, end: f"{value:.1f}".replace(".", point) + end, POINTS, st.sampled_from(("", " mm", "mm"))
    )
    return st.one_of(st.just(value), text)


def axis_cells(value: int) -> st.SearchStrategy[object]:
    return st.sampled_from((value, float(value), f"{value:03d}", f"{value}°", f"x {value}"))


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[str], list[object], dict[str, Any]]:
    """A header and a row in some spelling and order, and the document it stands for."""
    cells: list[tuple[str, object]] = []
    prescription: dict[str, Any] = {}
    for eye, names in (("right", ("R", "OD", "Right")), ("left", ("L", "OS", "Left"))):
        name = draw(st.sampled_from(names))
        figures: dict[str, Any] = {"sphere": draw(quarters)}
        cells.append((f"{name} sph", draw(power_cells(figures["sphere"]))))
        if draw(st.booleans()):
            figures |= {"cylinder": draw(quarters.filter(bool)), "axis": draw(st.integers(1, 180))}
        cells.append(
            (
                f"Cyl ({name})",
                draw(power_cells(figures["cylinder"]) if "axis" in figures else st.sampled_from(("DS", "", "-"))),
            )
        )
        cells.append((f"{name}_axis", draw(axis_cells(figures["axis"])) if "axis" in figures else None))
        if draw(st.booleans()):
            figures["prism"] = [
                {"amount": draw(st.integers(1, 20)) / 4, "base": draw(st.sampled_from(("in", "out", "up", "down")))}
            ]
            cells += [
                (f"{name} prism", figures["prism"][0]["amount"]),
                (f"{name} base", figures["prism"][0]["base"].title()),
            ]
        prescription[eye] = figures
    lengths = st.integers(20, 119).map(lambda half: half / 2)
    frame = {member: draw(lengths) for member in ("a_mm", "b_mm", "dbl_mm")}
    pd = {
        side: draw(lengths) for side in draw(st.sampled_from((("both",), ("right", "left"), ("both", "right", "left"))))
    }
    cells += [(f"pd {side}", draw(length_cells(value))) for side, value in pd.items()]
    cells += [(member, draw(length_cells(value))) for member, value in frame.items()]
    expected: dict[str, Any] = {"prescription": prescription, "pd_mm": pd, "frame": frame}
    if draw(st.booleans()):
        expected["wearer"] = {"age_years": draw(st.integers(0, 120))}
        cells.append(("Age", expected["wearer"]["age_years"]))
    if draw(st.booleans()):
        day = draw(st.dates(date(2000, 1, 1), date(2030, 1, 1)))
        prescription["issued_on"] = day.isoformat()
        cells.append(("Issued", draw(st.sampled_from((day, datetime(day.year, day.month, day.day), day.isoformat())))))
    shuffled = draw(st.permutations(cells))
    return [name for name, _ in shuffled], [cell for _, cell in shuffled], expected


@given(tables())
@steady
def test_a_well_formed_row_gives_an_order_with_the_same_values(
    table: tuple[list[str], list[object], dict[str, Any]],
) -> None:
    header, row, expected = table
    reading = order_document(columns_of(header), row, 2)
    assert reading.remarks == ()
    assert reading.document is not None
    assert Order.model_validate(reading.document) == Order.model_validate(expected)


@given(tables(), st.data())
@steady
def test_one_altered_cell_refuses_the_row_and_names_that_cell(
    table: tuple[list[str], list[object], dict[str, Any]], data: st.DataObject
) -> None:
    header, row, _ = table
    at = data.draw(st.integers(0, len(row) - 1))
    altered = data.draw(st.sampled_from((time(10, 12), True, "#REF!", "=A1", "1/2", "10-12", "50%", "l0", b"")))
    reading = order_document(columns_of(header), [*row[:at], altered, *row[at + 1 :]], 9)
    assert reading.document is None
    assert address(at, 9) in [remark.address for remark in reading.remarks]


figure_texts = st.text(st.sampled_from("0123456789+-.,/ xXlODS%:°−e'"), min_size=1, max_size=7)
WRITTEN_POWER = re.compile(r"([+-])(\d+[.,]\d+|[.,]\d+|\d)(?: *(?:[dD]|[xX]? *DS|S|s))*")


@given(figure_texts)
@settings(steady, max_examples=3000)
def test_a_text_gives_a_power_only_if_it_says_so(text: str) -> None:
    reading = read_with("R sph", text)
    if reading.document is None:
        return
    # A second, simpler reader: a sign and one figure, or a zero.
    plain = text.strip().replace("−", "-").replace(",", ".")
    value = reading.document["prescription"]["right"]["sphere"]
    said = re.fullmatch(r"([+-]?\d*\.?\d+)(?: *(?:D|S|DS))*", plain)
    assert said is not None, text
    assert value == float(said[1])
    assert value == 0 or plain[0] in "+-"


anything = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(10**300, 10**301),
    st.floats(),
    st.text(max_size=60),
    figure_texts,
    st.datetimes(),
    st.dates(),
    st.times(),
    st.timedeltas(),
    st.binary(max_size=4),
    st.decimals(),
    st.lists(st.integers(), max_size=2),
    st.sampled_from(("#REF!", "plano", "DS", "-", "1 BI", "base in", "1/2", "\ufeff", "\ud800", "9" * 4000)),
)
names = st.one_of(
    anything,
    st.sampled_from(
        [*HEADER, "R prism", "R base", "R prism H", "R base H", "Add", "Rx", "Issued", "Rim", "Age", "Notes", "Order"]
    ),
)


@given(st.lists(names, max_size=16), st.lists(anything, max_size=18), st.integers(1, 1_048_576))
@settings(steady, max_examples=2000)
def test_no_cell_and_no_header_is_beyond_the_reader(header: list[object], row: list[object], row_number: int) -> None:
    columns = columns_of(header, row_number)
    reading = order_document(columns, row, row_number)
    assert reading.document is None or not reading.remarks
    for remark in (*columns.remarks, *reading.remarks):
        assert len(remark.said) <= 40
        assert len(remark.column) <= 40
        assert remark.address == "" or re.fullmatch(rf"[A-Z]+{row_number}", remark.address)


@given(st.lists(anything, min_size=10, max_size=10))
@settings(steady, max_examples=2000)
def test_a_row_that_is_no_document_and_not_empty_says_why(row: list[object]) -> None:
    reading = order_document(columns_of(HEADER), row, 2)
    assert all(is_empty(cell) for cell in row) or reading.document is not None or reading.remarks
