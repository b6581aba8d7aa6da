"""Writes the workbooks of openapi_examples/workbooks: one table of what stands in them, two forms.

`python tests/workbooks/make.py` writes both anew. What differs is how a formula is spelt: Excel keeps newer functions under
a prefix, LibreOffice writes references in brackets and parts arguments by semicolons. No formula hides an error: a cell
whose figure cannot be had shows one, and no number from before.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from xml.sax.saxutils import escape, quoteattr

import openpyxl
from openpyxl.styles import Font
from openpyxl.workbook.defined_name import DefinedName

FOLDER: Final = Path(__file__).resolve().parents[2] / "openapi_examples" / "workbooks"
EXCEL: Final = "cells-for-excel.xlsx"
LIBREOFFICE: Final = "cells-for-libreoffice.fods"
ADDRESS: Final = "http://127.0.0.1:8000"
NAME: Final = "service"

Value = str | float | None


@dataclass(frozen=True, slots=True)
class Asked:
    """A column that is fetched: the figure, its words as columns, and whether it is a number."""

    title: str
    path: str
    words: Mapping[str, str]
    is_number: bool = True


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet: the columns that are typed, the rows that show it, and the columns that are fetched."""

    title: str
    typed: Sequence[str]
    rows: Sequence[Sequence[Value]]
    asked: Sequence[Asked]

    @property
    def header(self) -> list[str]:
        return [*self.typed, *(one.title for one in self.asked)]


_POWER: Final = {"sph": "C", "cyl": "D", "axis": "E", "eye": "B"}
_SIZES: Final = {"pd": "F", "a": "G", "b": "H", "dbl": "I", "height": "K", "eye": "B"}
_BLANK: Final = {**_SIZES, "ed": "J"}
LENSES: Final = Table(
    "Lenses",
    (
        "Reference", "Eye", "Sphere", "Cylinder", "Axis", "PD of this eye", "A", "B", "DBL", "ED", "Height", "Blank",
        "Refracted at", "Worn at",
    ),
    (
        ("W-1042", "right", -2.25, -0.75, 10, 31.5, 54, 40, 18, 58, 22, 70, 12, 14),
        ("W-1042", "left", -2.5, -0.5, 170, 32, 54, 40, 18, 58, 22, 70, 12, 14),
        ("W-1051", "right", 8.25, 1.25, 85, 30.5, 50, 36, 18, None, None, 65, 13, 10.5),
        # A cylinder without axis: no power, no prism. Its sizes are sound.
        ("W-1052", "left", -1.75, -0.5, None, 31, 52, 38, 17, 56, 20, 65, 12, 12),
        # The PD of both eyes typed for one: no sizes, and no prism that rests on them. Its power is sound.
        ("W-1053", "right", -3, None, None, 63, 52, 38, 17, 56, 20, 65, 12, 12),
    ),
    (
        Asked("Spherical equivalent (D)", "spherical-equivalent", _POWER),
        Asked("Other form", "transposed", _POWER, is_number=False),
        Asked("Decentration in (mm)", "decentration", _SIZES),
        Asked("Blank that is enough (mm)", "least-blank", _BLANK),
        Asked("Margin (mm)", "margin", {**_BLANK, "blank": "L"}),
        Asked("Power as worn", "vertex-power", {**_POWER, "from_vd": "M", "to_vd": "N"}, is_number=False),
        # Not decentred, the optical centre lies as far out from the pupil as the lens would have to be moved in.
        Asked("Prism if not decentred (base in, Δ)", "prism", {**_POWER, "in": "-Q"}),
        Asked("Margin, in words", "why/margin", {**_BLANK, "blank": "L"}, is_number=False),
    ),
)  # fmt: skip
_ORDER: Final = {
    "rsph": "B", "rcyl": "C", "raxis": "D", "lsph": "E", "lcyl": "F", "laxis": "G", "rpd": "H", "lpd": "I", "a": "J", "b": "K",
    "dbl": "L", "ed": "M", "blank": "N", "material": "O", "as_of": "P",
}  # fmt: skip
PAIRS: Final = Table(
    "Pairs",
    (
        "Reference", "R sphere", "R cylinder", "R axis", "L sphere", "L cylinder", "L axis", "R PD", "L PD", "A", "B", "DBL",
        "ED", "Blank", "Material", "As of",
    ),
    (
        ("W-1042", -2.25, -0.75, 10, -2.5, -0.5, 170, 31.5, 32, 54, 40, 18, 58, 70, "polycarbonate", "2026-11-25"),
        ("W-1043", -2.25, -0.75, 10, -2.5, -0.5, 170, 29, 29, 56, 44, 20, 62, 60, "polycarbonate", "2026-11-25"),
        # One sign may be lost.
        ("W-1044", -3, None, None, 3.25, None, None, 31, 31, 52, 38, 17, None, 65, "polycarbonate", "2026-11-25"),
        # No A: nothing can be decided.
        ("W-1045", -2, None, None, -2, None, None, 31, 31, None, 38, 17, None, 65, "polycarbonate", "2026-11-25"),
    ),
    (Asked("Decision", "decision", _ORDER, is_number=False), Asked("Why", "why/decision", _ORDER, is_number=False)),
)  # fmt: skip
TABLES: Final = (LENSES, PAIRS)

NOTES: Final = (
    "Start the service with: benchgate serve. Its address stands in B1, once for the whole workbook.",
    "Each figure is fetched from an address of its own. Where it cannot be worked out the cell shows an error and no number; "
    "the columns in words say why.",
    "The orders are invented. This is a check of an order and not a prescription; read the finished pair on a lensmeter.",
)
_NOTES_OF: Final = {
    EXCEL: "Excel for Windows fetches after Enable Content. The functions WEBSERVICE and NUMBERVALUE need Excel 2013 or newer.",
    LIBREOFFICE: "LibreOffice fetches after Allow updating, if the file lies in a trusted folder (Options, Security, Macro "
    "Security, Trusted Sources) or links are set to be updated always.",
}


def address(asked: Asked, row: int) -> str:
    """The address of a cell as a formula in plain spelling: named cell, text and references joined by ampersands."""
    parts = [f'{NAME}&"/v1/cells/{asked.path}?']
    for place, (word, column) in enumerate(asked.words.items()):
        join = "&" if place else ""
        minus, letter = ("-", column[1:]) if column.startswith("-") else ("", column)
        parts.append(f'{join}{word}="&{minus}{letter}{row}&"')
    return "".join(parts).removesuffix('&"')


def excel_formula(asked: Asked, row: int) -> str:
    """As Excel keeps it. The second separator is named too: in some languages the point would be taken for it."""
    fetched = f"_xlfn.WEBSERVICE({address(asked, row)})"
    return f'=_xlfn.NUMBERVALUE({fetched},".",",")' if asked.is_number else f"={fetched}"


def libreoffice_formula(asked: Asked, row: int) -> str:
    """As LibreOffice keeps it in a flat file."""
    plain = re.split(r'("[^"]*")', address(asked, row))
    bracketed = [part if part.startswith('"') else re.sub(r"\b([A-Z]+[0-9]+)\b", r"[.\1]", part) for part in plain]
    fetched = f"COM.MICROSOFT.WEBSERVICE({''.join(bracketed)})"
    return f'of:=NUMBERVALUE({fetched};".")' if asked.is_number else f"of:={fetched}"


def notes(name: str) -> list[list[Value]]:
    """The first sheet: the address, and what to know."""
    return [["Address of the service", ADDRESS], [], *([note] for note in (*NOTES, _NOTES_OF[name]))]


def write_excel(path: Path) -> None:
    """The workbook for Excel."""
    book = openpyxl.Workbook()
    first = book.active
    assert first is not None
    first.title = "Service"
    for row in notes(EXCEL):
        first.append(row)
    book.defined_names[NAME] = DefinedName(NAME, attr_text="Service!$B$1")
    for table in TABLES:
        sheet = book.create_sheet(table.title)
        sheet.append(table.header)
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        for at, typed in enumerate(table.rows, start=2):
            sheet.append([*typed, *(excel_formula(one, at) for one in table.asked)])
        sheet.freeze_panes = "B2"
    assert book.calculation is not None
    book.calculation.fullCalcOnLoad = True
    book.save(path)


def flat_document() -> str:
    """The workbook for LibreOffice, as one XML document."""
    office = "urn:oasis:names:tc:opendocument:xmlns:"
    spaces = " ".join(f'xmlns:{name}="{office}{name}:1.0"' for name in ("office", "table", "text"))
    sheets = [_flat_table("Service", [[*row] for row in notes(LIBREOFFICE)])]
    for table in TABLES:
        rows: list[list[Value]] = [list(table.header)]
        rows += [
            [*typed, *(libreoffice_formula(one, at) for one in table.asked)]
            for at, typed in enumerate(table.rows, start=2)
        ]
        sheets.append(_flat_table(table.title, rows))
    named = (
        f'<table:named-expressions><table:named-range table:name="{NAME}" table:base-cell-address="$Service.$A$1" '
        'table:cell-range-address="$Service.$B$1"/></table:named-expressions>'
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<office:document {spaces} xmlns:of="{office}of:1.2" office:version="1.3"\n'
        ' office:mimetype="application/vnd.oasis.opendocument.spreadsheet">\n'
        f"<office:body><office:spreadsheet>\n{''.join(sheets)}{named}\n</office:spreadsheet></office:body>\n"
        "</office:document>\n"
    )


def _flat_table(title: str, rows: Sequence[Sequence[Value]]) -> str:
    lines = "".join(f"<table:table-row>{''.join(_flat_cells(row))}</table:table-row>\n" for row in rows)
    return f"<table:table table:name={quoteattr(title)}>\n{lines}</table:table>\n"


def _flat_cells(row: Sequence[Value]) -> Iterator[str]:
    for value in row or [None]:
        if value is None:
            yield "<table:table-cell/>"
        elif not isinstance(value, str):
            yield f'<table:table-cell office:value-type="float" office:value="{value:g}"/>'
        elif value.startswith("of:="):
            yield f"<table:table-cell table:formula={quoteattr(value)}/>"
        else:
            yield f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'


def main() -> None:
    """Write both."""
    FOLDER.mkdir(exist_ok=True)
    write_excel(FOLDER / EXCEL)
    (FOLDER / LIBREOFFICE).write_text(flat_document(), "utf-8")


if __name__ == "__main__":
    main()
