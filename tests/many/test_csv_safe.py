"""No cell that is written to a CSV file is run by the program that opens it, and no figure is changed."""

import csv
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.many.csv_safe import safe_cell

# What starts a formula: CWE-1236, and the advice of those who teach how to write CSV (common practice).
FORMULAS = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    " =1+1",
    "\ufeff=1+1",
    "＝1+1",
    '=HYPERLINK("x")',
]
NUMBERS = ["-2.25", "+2.25", "-2,25", "-.25", "+,5", "-0", "2.25", "-2."]
TEXTS = ["", "W-1042", "polycarbonate", "31.5/32", "x = y", "'", "−2.25"]


@pytest.mark.parametrize("text", FORMULAS)
def test_what_starts_a_formula_is_made_text(text: str) -> None:
    assert safe_cell(text) == f"'{text}"


@pytest.mark.parametrize("text", NUMBERS + TEXTS)
def test_plain_numbers_and_plain_texts_stay_as_they_are(text: str) -> None:
    assert safe_cell(text) == text


@pytest.mark.parametrize("text", ["-2.25 -0.75 x 010", "+2+3", "-2.2.5", "+", "-", "-1e5", "-٢"])
def test_more_than_one_number_after_a_sign_is_no_plain_number(text: str) -> None:
    assert safe_cell(text) == f"'{text}"


@given(st.text(alphabet=st.sampled_from("=+-@\t\r\n '0129.,ax\ufeff＝"), max_size=8))
def test_a_safe_cell_stays_the_same_and_holds_the_whole_text(text: str) -> None:
    safe = safe_cell(text)
    assert safe_cell(safe) == safe
    assert safe in (text, f"'{text}")
    assert not safe.lstrip(" \ufeff").startswith(("=", "@", "＝"))


def test_a_spreadsheet_runs_the_bare_cell_and_not_the_safe_one(tmp_path: Path) -> None:
    office = shutil.which("soffice") or shutil.which("libreoffice")
    if office is None:
        pytest.skip("LibreOffice is not on this machine (Debian package libreoffice-calc)")
    table = tmp_path / "cells.csv"
    with table.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(
            [["=1+1", safe_cell("=1+1")], ["=6*7", safe_cell("\t=6*7")], ["-2.25", safe_cell("-2.25")]]
        )
    # Token 13 of the filter: formulas in the file are run, as other programs do without being asked.
    opened = "44,34,76,1,,0,false,true,false,false,false,-1,true"
    command = [office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", f"--infilter=CSV:{opened}"]
    command += ["--convert-to", "csv", "--outdir", str(tmp_path / "out"), str(table)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    [written] = (tmp_path / "out").glob("*.csv")
    with written.open(newline="", encoding="utf-8") as file:
        bare, safe = zip(*csv.reader(file), strict=True)
    assert bare == ("2", "42", "-2.25")
    assert [text.lstrip("'").strip() for text in safe] == ["=1+1", "=6*7", "-2.25"]
