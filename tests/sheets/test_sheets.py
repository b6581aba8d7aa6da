"""A sheet in, the same sheet checked out: what stands in it, its types, its exit code, on real files."""

import json
import re
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from sheet_files import (
    ACCEPTED,
    HEADER,
    OURS,
    REJECTED,
    ROOT,
    SAMPLES,
    book,
    cells,
    decisions,
    libreoffice,
    replaced,
    run,
    text,
)

from service.__main__ import main
from service.many.columns_out import OUR_COLUMNS

# Comma, quotation mark, UTF-8, from the first row, cells as they are shown.
AS_SHOWN = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true"
Printed = pytest.CaptureFixture[str]


@pytest.mark.parametrize("made", [book, text])
@pytest.mark.parametrize("out", ["checked.xlsx", "checked.csv"])
def test_the_exit_code_tells_the_gravest_row(tmp_path: Path, made: Any, out: str, capsys: Printed) -> None:
    source = tmp_path / ("orders.xlsx" if made is book else "orders.csv")
    child = [*replaced(ACCEPTED, Ref="W-9"), 9]
    faulty = replaced(ACCEPTED, R_sph="-2.5O")
    for rows, header, code in (
        ([ACCEPTED, ACCEPTED], HEADER, 0),
        ([ACCEPTED, REJECTED], HEADER, 2),
        ([ACCEPTED, faulty], HEADER, 2),
        ([[*ACCEPTED, 34], child], (*HEADER, "Age"), 1),  # a child of nine goes to a person
    ):
        made(source, rows, header)
        assert run(source, "-o", tmp_path / out) == code
        counted = capsys.readouterr().out
        assert "2 rows: " in counted
        assert ("1 accept" in counted) == (code > 0)


@pytest.mark.parametrize("sample", ["orders.xlsx", "orders.csv"])
@pytest.mark.parametrize("out", ["checked.xlsx", "checked.csv"])
def test_each_row_says_what_the_check_of_its_order_says(tmp_path: Path, sample: str, out: str, capsys: Printed) -> None:
    assert run(SAMPLES / sample, "-o", tmp_path / out) == 2
    words = ["accept", "accept", "reject", "review", "reject", "unreadable"]
    assert decisions(tmp_path / out) == words
    # The first row again, as an order by itself.
    order = {
        "reference": "W-2001",
        "prescription": {
            "right": {"sphere": -2.25, "cylinder": -0.75, "axis": 10},
            "left": {"sphere": -2.5, "cylinder": -0.5, "axis": 170},
            "issued_on": "2026-06-01",
        },
        "pd_mm": {"right": 31.5, "left": 32.0},
        "frame": {"a_mm": 52, "b_mm": 36, "dbl_mm": 18, "ed_mm": 54},
        "fitting_height_mm": {"right": 20, "left": 20},
        "lens": {"material": "polycarbonate", "blank_diameter_mm": 70},
        "wearer": {"age_years": 34},
        "as_of": "2026-11-25",
    }
    (tmp_path / "order.json").write_text(json.dumps(order))
    capsys.readouterr()
    assert main(["check", str(tmp_path / "order.json"), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    ours = dict(zip(OUR_COLUMNS, cells(tmp_path / out)[1][-OURS:], strict=True))
    right = answer["fit"]["right"]
    for name, figure in (
        ("right spherical equivalent (D)", answer["prescription"]["right"]["spherical_equivalent"]),
        ("right decentration in (mm)", right["decentration_mm"]["in"]),
        ("right least blank (mm)", right["minimum_blank_mm"]["expected"]),
        ("right margin (mm)", right["margin_mm"]),
    ):
        assert float(ours[f"benchgate: {name}"]) == figure
    assert ours["benchgate: right as read"].lstrip("'") == answer["prescription"]["right"]["notation"]


def test_the_users_columns_stay_in_their_order_with_their_types_and_ours_stand_at_their_right(tmp_path: Path) -> None:
    run(SAMPLES / "orders.xlsx", "-o", tmp_path / "checked.xlsx")
    before, after = cells(SAMPLES / "orders.xlsx"), cells(tmp_path / "checked.xlsx")
    assert [row[: len(before[0])] for row in after] == before
    assert tuple(after[0][len(before[0]) :]) == OUR_COLUMNS
    issued = after[1][before[0].index("Issued")]
    assert issued == datetime(2026, 6, 1)
    assert all(isinstance(cell, (int, float)) for cell in after[1][len(before[0]) + 3 : -2])


def test_cells_of_a_csv_file_become_the_figures_and_days_that_were_read(tmp_path: Path) -> None:
    run(SAMPLES / "orders.csv", "-o", tmp_path / "checked.xlsx")
    header, first, second, *_ = cells(tmp_path / "checked.xlsx")
    held = dict(zip(header, second, strict=True))
    assert (held["R sph"], held["L axis"], held["Blank"]) == (1.5, 90, 65)
    assert held["Issued"] == datetime(2026, 6, 1)
    assert held["Comments"] == "collects on Friday"
    assert first[header.index("R axis")] == 10


def test_the_decision_is_a_colour_and_a_word_and_the_header_stays_in_sight(tmp_path: Path) -> None:
    run(SAMPLES / "orders.xlsx", "-o", tmp_path / "checked.xlsx")
    made = openpyxl.load_workbook(tmp_path / "checked.xlsx")
    sheet = made.worksheets[0]
    assert made.sheetnames == ["Orders", "Findings", "About"]
    assert [one.freeze_panes for one in made.worksheets] == ["A2", "A2", None]
    at = [cell.value for cell in sheet[1]].index("benchgate: decision")
    colours = {row[at].value: row[at].fill.start_color.rgb for row in sheet.iter_rows(min_row=2)}
    assert set(colours) == {"accept", "review", "reject", "unreadable"}
    assert len(set(colours.values())) == 4


def test_the_second_sheet_holds_every_finding_with_its_cell(tmp_path: Path) -> None:
    run(SAMPLES / "orders.xlsx", "-o", tmp_path / "checked.xlsx")
    orders = cells(tmp_path / "checked.xlsx")
    header, *rows = cells(tmp_path / "checked.xlsx", 1)
    found: dict[int, list[str]] = {}
    for row in rows:
        found.setdefault(row[0], []).append(row[header.index("Finding")])
    for number, order in enumerate(orders[1:], start=2):
        assert list(dict.fromkeys(found.get(number, []))) == (order[-1].split(", ") if order[-1] else [])
    blank = next(row for row in rows if row[4] == "blank-too-small")
    assert blank[1] == f"{openpyxl.utils.get_column_letter(orders[0].index('Blank') + 1)}4"
    assert (blank[2], blank[8], blank[10]) == ("W-2003", 65, "mm")
    assert next(row for row in rows if row[4] == "cell-became-date")[1] == "C7"
    about = dict(cells(tmp_path / "checked.xlsx", 2))
    assert (about["Rows"], about["Rows: reject"]) == (6, 2)
    assert "Caution" in about


def test_rows_stand_where_they_stood_with_titles_above_and_gaps_between(tmp_path: Path) -> None:
    source = book(
        tmp_path / "orders.xlsx", [[], HEADER, ACCEPTED, [], replaced(ACCEPTED, L_sph="?")], header=["Orders of Monday"]
    )
    for out in ("checked.xlsx", "checked.csv"):
        assert run(source, "-o", tmp_path / out) == 2
        after = cells(tmp_path / out)
        assert after[0][0] == "Orders of Monday"
        assert after[2][0] == "Ref"
        assert after[3][len(HEADER)] == "accept"
        assert not any(after[4])
        assert after[5][len(HEADER)] == "unreadable"
        assert after[5][-2].startswith("Cell E6 ")


def test_a_checked_sheet_can_be_put_right_and_checked_again(tmp_path: Path) -> None:
    source = book(tmp_path / "orders.xlsx", [ACCEPTED, replaced(ACCEPTED, R_axis=None)])
    for first, again in (("one.xlsx", "two.xlsx"), ("one.csv", "two.csv")):
        assert run(source, "-o", tmp_path / first) == 2
        if first.endswith("xlsx"):
            made = openpyxl.load_workbook(tmp_path / first)
            made.worksheets[0]["D3"] = 10
            made.save(tmp_path / first)
        else:
            held = cells(tmp_path / first)
            held[2][3] = "10"
            text(tmp_path / first, held[1:], held[0])
        assert run(tmp_path / first, "-o", tmp_path / again) == 0
        assert decisions(tmp_path / again) == ["accept", "accept"]
        assert len(cells(tmp_path / again)[0]) == len(HEADER) + OURS


def test_nothing_that_a_user_typed_is_run_as_a_formula(tmp_path: Path) -> None:
    traps = ["=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1+1", '=HYPERLINK("x")', "#N/A", "-7", "+1.50"]
    source = text(tmp_path / "orders.csv", [[*ACCEPTED, trap] for trap in traps], (*HEADER, "Comments"))
    assert run(source, "-o", tmp_path / "checked.xlsx") == 0
    sheet = openpyxl.load_workbook(tmp_path / "checked.xlsx").worksheets[0]
    for row, trap in zip(sheet.iter_rows(min_row=2), traps, strict=True):
        assert (row[len(HEADER)].value, row[len(HEADER)].data_type) == (trap, "s")
    assert run(source, "-o", tmp_path / "checked.csv") == 0
    held = [row[len(HEADER)] for row in cells(tmp_path / "checked.csv")[1:]]
    assert held == ["'=1+1", "'+1+1", "'-1+1", "'@SUM(1)", "'\t=1+1", '\'=HYPERLINK("x")', "#N/A", "-7", "+1.50"]
    # What the apostrophe was set before is what it was when it is read again.
    assert run(tmp_path / "checked.csv", "-o", tmp_path / "again.xlsx") == 0
    assert [row[len(HEADER)] for row in cells(tmp_path / "again.xlsx")[1:]] == traps


def test_a_file_with_decimal_commas_is_read_and_written_with_them(tmp_path: Path) -> None:
    row = [str(cell).replace(".", ",") for cell in replaced(ACCEPTED, R_sph="+1,50", L_sph="-2,50", As_of="2026-11-25")]
    for delimiter in (";", "\t"):
        source = text(tmp_path / "orders.csv", [row], delimiter=delimiter)
        assert run(source, "-o", tmp_path / "checked.csv") in (0, 1)
        line = (tmp_path / "checked.csv").read_text("utf-8-sig").splitlines()[1].split(delimiter)
        assert line[1] == "+1,50"
        assert line[len(HEADER) + 3] == "1,125"
        run(source, "-o", tmp_path / "checked.xlsx")
        assert cells(tmp_path / "checked.xlsx")[1][1] == 1.5


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_characters_stay_as_they_are_in_every_encoding_that_says_itself(tmp_path: Path, encoding: str) -> None:
    source = text(tmp_path / "orders.csv", [[*ACCEPTED, "Łódź, Åse, 日本"]], (*HEADER, "Comments"), encoding=encoding)
    assert run(source, "-o", tmp_path / "checked.csv") == 0
    assert cells(tmp_path / "checked.csv")[1][len(HEADER)] == "Łódź, Åse, 日本"


def test_another_encoding_is_read_where_the_person_says_so(tmp_path: Path, capsys: Printed) -> None:
    source = text(tmp_path / "orders.csv", [[*ACCEPTED, "Zoë"]], (*HEADER, "Comments"), encoding="cp1252")
    assert run(source, "-o", tmp_path / "checked.csv") == 3
    assert "cell P2 holds bytes that are no UTF-8" in capsys.readouterr().err
    assert not (tmp_path / "checked.csv").exists()
    assert run(source, "-o", tmp_path / "checked.csv", "--encoding", "cp1252") == 0
    assert cells(tmp_path / "checked.csv")[1][len(HEADER)] == "Zoë"


def test_a_first_line_that_says_what_parts_the_cells_is_no_row(tmp_path: Path) -> None:
    source = text(tmp_path / "orders.csv", [replaced(ACCEPTED, R_sph="x")], delimiter=";")
    source.write_bytes(b"sep=;\r\n" + source.read_bytes())
    assert run(source, "-o", tmp_path / "checked.csv") == 2
    assert "Cell B2 " in (tmp_path / "checked.csv").read_text("utf-8-sig")


# LibreOffice: its own files in, and what it sees in ours.


def test_files_saved_by_libreoffice_are_read_alike(tmp_path: Path) -> None:
    saved = libreoffice(SAMPLES / "orders.xlsx", "xlsx", tmp_path / "office")
    run(SAMPLES / "orders.xlsx", "-o", tmp_path / "one.xlsx")
    assert run(saved, "-o", tmp_path / "two.xlsx") == 2
    one, two = cells(tmp_path / "one.xlsx"), cells(tmp_path / "two.xlsx")
    assert [row[-OURS:] for row in one] == [row[-OURS:] for row in two]
    # As the person sees the cells, so that +1.50 keeps its sign.
    as_text = libreoffice(SAMPLES / "orders.xlsx", AS_SHOWN, tmp_path / "office")
    assert run(as_text, "-o", tmp_path / "three.xlsx") == 2
    assert decisions(tmp_path / "three.xlsx") == decisions(tmp_path / "one.xlsx")


def test_libreoffice_sees_in_the_output_what_was_written(tmp_path: Path) -> None:
    traps = ["=1+1", "@SUM(1)", "plain"]
    source = text(tmp_path / "orders.csv", [[*ACCEPTED, trap] for trap in traps], (*HEADER, "Comments"))
    run(source, "-o", tmp_path / "checked.xlsx")
    seen = cells(libreoffice(tmp_path / "checked.xlsx", "csv", tmp_path / "office"))
    assert [row[len(HEADER)] for row in seen[1:]] == traps  # 2 would stand there if it had been run
    written = cells(tmp_path / "checked.xlsx")
    assert seen[0][-OURS:] == list(OUR_COLUMNS)
    assert seen[1][len(HEADER) + 1] == "accept"
    assert float(seen[1][1]) == ACCEPTED[1]
    for at in range(-OURS + 3, -2):
        if written[1][at] is None:
            assert seen[1][at] == ""
        else:
            assert float(seen[1][at]) == pytest.approx(written[1][at], abs=0.006)


def test_formulas_worked_out_by_libreoffice_count_with_their_values(tmp_path: Path) -> None:
    plain = book(
        tmp_path / "formulas.xlsx",
        [[*replaced(ACCEPTED, R_sph="=-2-0.25", R_cyl='=IF(1=1,"","x")', R_axis=None), None]],
        (*HEADER, "Comments"),
    )
    saved = libreoffice(plain, "xlsx", tmp_path / "office")
    assert run(saved, "-o", tmp_path / "checked.xlsx") == 0
    after = cells(tmp_path / "checked.xlsx")[1]
    assert after[1] == -2.25
    assert after[len(HEADER) + 2] == "-2.25 DS"  # an empty text is an empty cell, and no formula without a value


def test_what_libreoffice_makes_of_a_typed_date_is_refused_with_its_cell(tmp_path: Path) -> None:
    # A CSV file opened in a spreadsheet program: 1-2-2026 becomes a date on the way.
    source = text(tmp_path / "typed.csv", [replaced(ACCEPTED, R_cyl="2026-01-02")])
    saved = libreoffice(source, "xlsx", tmp_path / "office")
    assert isinstance(cells(saved)[1][2], (date, datetime))
    assert run(saved, "-o", tmp_path / "checked.xlsx") == 2
    assert cells(tmp_path / "checked.xlsx")[1][-2].startswith("Cell C2 ")


def test_the_commands_of_the_readme_work_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = re.findall(
        r"^\.venv/bin/benchgate (sheet openapi_examples/.+)$", (ROOT / "README.md").read_text("utf-8"), re.M
    )
    assert len(lines) == 2
    (tmp_path / "openapi_examples").symlink_to(ROOT / "openapi_examples")
    monkeypatch.chdir(tmp_path)
    for line in lines:
        assert main(line.split()) == 2
        assert (tmp_path / line.split()[-1]).is_file()
