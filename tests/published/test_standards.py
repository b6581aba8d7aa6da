"""The tolerance tables hold the collected figures of the standards, every one, and nothing beside them.

`standards.json` is a copy of the two collected blocks, with where they come from, and of what the collection lists of ISO
beside its block. The tables of optics_core are laid out as rows, so each block is told as rows here, in their words.
"""

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from optics_core.sources import sources
from optics_core.tolerance import standards, tolerances

Row = dict[str, Any]

COPY = json.loads((Path(__file__).parent / "standards.json").read_text(encoding="utf-8"))
BLOCKS = {copy["block"]["id"].removesuffix("-draft"): copy["block"] for copy in COPY}
ANSI, ISO = BLOCKS["ansi-z80.1-2015"], BLOCKS["iso-21987-2017"]
# Section 2.7 of the collection, which stands in no block.
ISO_LISTED = next(copy["listed"] for copy in COPY if "listed" in copy)
SHARED = Path(__file__).resolve().parents[3] / "shared" / "handbook" / "standards.md"

LENSES = {"sv_mf": "single_vision", "pal": "progressive", "power_variation": "progressive"}
ABOUT = ("source", "mark", "remark")


def figures(rows: list[Mapping[str, Any]]) -> list[Row]:
    """Rows without where they come from, in an order of their own."""
    return in_order([{name: value for name, value in row.items() if name not in ABOUT} for row in rows])


def in_order(rows: list[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: json.dumps(row, sort_keys=True))


def band(row: Row, **names: str) -> Row:
    """A row of a block in the tables' words; a band without an upper end has none there."""
    return {names[name]: float(value) for name, value in row.items() if value is not None}


def named(row: Row, **names: tuple[str, str]) -> list[Row]:
    return [{"quantity": names[name][0], names[name][1]: float(row[name])} for name in names]


def ansi_bands(quantity: str) -> Iterator[Row]:
    for lens, rows in ANSI[quantity].items():
        for row in rows:
            yield {"lens": LENSES[lens]} | band(row, max_abs="max_d", tol_d="limit_d", tol_pct="limit_percent")


def iso_cylinders() -> Iterator[Row]:
    for lens in ("sv_mf", "power_variation"):
        for row in ISO[lens]:
            for cylinder, limit in zip(ISO["cyl_columns_max"], row["B"], strict=True):
                ends = band(
                    {"power": row["max_abs"], "cylinder": cylinder}, power="max_power_d", cylinder="max_cylinder_d"
                )
                yield {"lens": LENSES[lens], "limit_d": limit} | ends


@pytest.mark.parametrize("quantity", ["sphere", "cylinder"])
def test_ansi_powers_are_the_collected_ones(quantity: str) -> None:
    assert figures(tolerances(standard="ansi-z80.1-2015")[quantity]) == in_order(list(ansi_bands(quantity)))


def test_ansi_axes_and_adds_are_the_collected_ones() -> None:
    table = tolerances(standard="ansi-z80.1-2015")
    axes = [band(row, max_cyl="max_cylinder_d", tol_deg="limit_deg") for row in ANSI["axis"]]
    adds = [band(row, max_add="max_d", tol_d="limit_d") for row in ANSI["add"]]
    assert figures(table["axis"]) == in_order(axes)
    assert figures(table["add"]) == in_order(adds)
    assert table["axis_least_cylinder_d"] == ANSI["axis_min_cyl"]
    assert table["cylinder_form"] == ANSI["cylinder_convention"]


def test_ansi_prism_of_a_pair_is_the_collected_one() -> None:
    found = {row["lens"]: row for row in tolerances(standard="ansi-z80.1-2015")["prism_mounted"]}
    for lens in ("sv_mf", "pal"):
        row = found[LENSES[lens]]
        for direction in ("horizontal", "vertical"):
            collected = ANSI["prism_mounted"][direction][lens]
            # 1.0 mm for each eye is 2.0 mm for the pair.
            eyes = 2 if collected.get("mm_meaning", "").startswith("per eye") else 1
            assert row[f"{direction}_pd"] == collected["delta"]
            assert row[f"{direction}_mm"] == eyes * collected["mm"]
            assert row[f"{direction}_switch_d"] == collected["switch_d"]


def test_ansi_segments_crosses_and_sizes_are_the_collected_ones() -> None:
    table = tolerances(standard="ansi-z80.1-2015")
    assert figures(table["prism_unmounted"]) == [
        {"limit_pd": ANSI["prp_unmounted"]["delta"], "limit_mm": ANSI["prp_unmounted"]["mm"]}
    ]
    segments = named(
        ANSI["segment"],
        height_mm=("height", "limit_mm"),
        pair_height_diff_mm=("pair_height_difference", "limit_mm"),
        horizontal_total_mm=("pair_horizontal", "limit_mm"),
        tilt_deg=("tilt", "limit_deg"),
        size_mm=("size", "limit_mm"),
        pair_size_diff_mm=("pair_size_difference", "limit_mm"),
    )
    crosses = named(
        ANSI["fitting_cross"],
        vertical_mm=("vertical", "limit_mm"),
        pair_vertical_diff_mm=("pair_vertical_difference", "limit_mm"),
        horizontal_mm_each=("horizontal", "limit_mm"),
        tilt_deg=("tilt", "limit_deg"),
    )
    sizes = named(
        ANSI,
        centre_thickness_mm=("centre_thickness", "limit_mm"),
        base_curve_d=("base_curve", "limit_d"),
        warpage_d=("warpage", "limit_d"),
    )
    assert figures(table["segment"]) == in_order(segments)
    assert figures(table["fitting_cross"]) == in_order(crosses)
    assert figures(table["physical"]) == in_order(sizes)


def test_iso_powers_and_cylinders_are_the_collected_ones() -> None:
    table = tolerances(standard="iso-21987-2017")
    powers = [
        {"lens": LENSES[lens]} | band({"end": row["max_abs"], "A": row["A"]}, end="max_d", A="limit_d")
        for lens in ("sv_mf", "power_variation")
        for row in ISO[lens]
    ]
    assert figures(table["power"]) == in_order(powers)
    assert figures(table["cylinder"]) == in_order(list(iso_cylinders()))


def test_iso_axes_adds_and_prism_are_the_collected_ones() -> None:
    table = tolerances(standard="iso-21987-2017")
    axes = [band(row, max_cyl="max_cylinder_d", deg="limit_deg") for row in ISO["axis_mounted"]]
    adds = [band(row, max_add="max_d", tol_d="limit_d") for row in ISO["add"]]
    bands = [
        {"direction": direction} | band(row, max_prism="max_prescribed_pd", delta="limit_pd", plus="plus_pd")
        for direction in ("horizontal", "vertical")
        for row in ISO["prism_imbalance"][direction]["bands"]
    ]
    assert figures(table["axis"]) == in_order(axes)
    assert figures(table["add"]) == in_order(adds)
    assert figures(table["prism_bands"]) == in_order(bands)
    for row in table["prism_mounted"]:
        for direction in ("horizontal", "vertical"):
            collected = ISO["prism_imbalance"][direction]
            assert row[f"{direction}_pd"] == collected["bands"][0]["delta"]
            assert row[f"{direction}_mm"] == collected["mm"]
            assert row[f"{direction}_switch_d"] == collected["switch_d"]


@pytest.mark.parametrize("section", ["segment", "fitting_cross", "physical"])
def test_iso_segments_crosses_and_sizes_are_the_listed_ones(section: str) -> None:
    listed = [row for row in ISO_LISTED if row["section"] == section]
    assert figures(tolerances(standard="iso-21987-2017")[section]) == in_order(
        [{"quantity": row["quantity"], f"limit_{row['unit']}": row["limit"]} for row in listed]
    )
    marks = {row["quantity"]: row["mark"] for row in tolerances(standard="iso-21987-2017")[section]}
    for row in listed:
        # Read for the mounted or the uncut lens alike, and nothing of it recalled.
        assert (marks[row["quantity"]] == "read") == (row["mark"] == "[V:B16]"), row


def test_progressive_pairs_are_judged_eye_by_eye_horizontally() -> None:
    ansi, iso = (
        {row["lens"]: row for row in tolerances(standard=standard)["prism_mounted"]}
        for standard in ("ansi-z80.1-2015", "iso-21987-2017")
    )
    collected = ANSI["prism_mounted"]["horizontal"]["pal"]
    assert collected["mm_meaning"].startswith("per eye")
    assert ansi["progressive"]["horizontal_each_mm"] == collected["mm"]
    point = next(row for row in ISO_LISTED if row["item"] == "Progressive fitting point, horizontal")
    assert point["printed"].endswith("each")
    assert iso["progressive"]["horizontal_each_mm"] == point["limit"]
    assert not [row for row in (ansi["single_vision"], iso["single_vision"]) if "horizontal_each_mm" in row]


def remark(standard: str, section: str, **named: Any) -> str:
    """The remark on the one row that has these values."""
    rows = [row for row in tolerances(standard=standard)[section] if named.items() <= row.items()]
    assert len(rows) == 1
    return str(rows[0].get("remark", ""))


def test_what_is_recalled_with_real_doubt_says_so() -> None:
    # Sections 2.3 and 2.7: [memory-low].
    assert "real doubt" in remark("iso-21987-2017", "axis", max_cylinder_d=0.25)
    doubted = {(row["section"], row["quantity"]) for row in ISO_LISTED if row["mark"] == "[memory-low]"}
    assert doubted
    for row in ISO_LISTED:
        told = "real doubt" in remark("iso-21987-2017", row["section"], quantity=row["quantity"])
        assert told == ((row["section"], row["quantity"]) in doubted)


def test_where_sheets_disagree_the_row_says_which_was_taken() -> None:
    # Section 8, rows 1, 2, 3, 5, 8 and 9; row 7 is said of the whole table.
    ansi, iso = "ansi-z80.1-2015", "iso-21987-2017"
    said = [
        (remark(ansi, "prism_mounted", lens="progressive"), "3.375", "3.75"),
        (remark(ansi, "cylinder", lens="single_vision", max_d=4.5), "4.50", "3.50"),
        (remark(ansi, "axis", max_cylinder_d=0.25), "14", "7"),
        (remark(ansi, "segment", quantity="height"), "Each segment", "difference"),
        (remark(ansi, "fitting_cross", quantity="vertical"), "Each point", "difference"),
        (remark(iso, "axis", max_cylinder_d=0.5), "2 for a mounted 0.50"),
        (remark(iso, "prism_bands", direction="horizontal", max_prescribed_pd=2.0), "0.5"),
        (remark(iso, "prism_bands", direction="vertical", max_prescribed_pd=2.0), "0.25"),
        (tolerances(standard=ansi)["remark"], "minus-cylinder", "highest absolute power"),
        (tolerances(standard=iso)["remark"], "minus-cylinder", "higher absolute power"),
    ]
    for text, *words in said:
        assert all(word in text for word in (*words, "taken" if "each standard keeps" not in text else "keeps")), text


def test_what_was_recalled_is_not_passed_off_as_read() -> None:
    table = tolerances(standard="iso-21987-2017")
    for section in ("axis", "add", "prism_mounted", "prism_bands"):
        assert {row["mark"] for row in table[section]} == {"memory"}, section
    for section in ("power", "cylinder"):
        # Read for the uncut lens of ISO 8980-1:2004 only.
        assert {row["mark"] for row in table[section] if row["lens"] == "progressive"} == {"memory"}
        assert {row["source"] for row in table[section] if row["mark"] == "read"} == {"iso-8980-1-2004"}


def test_every_row_of_every_standard_names_a_known_source_and_how_it_is_known() -> None:
    assert set(standards()) == set(BLOCKS)
    for standard in standards():
        sections = [section for section in tolerances(standard=standard).values() if isinstance(section, list)]
        rows = [row for section in sections for row in section]
        assert rows
        for row in rows:
            assert row["source"] in sources()
            assert row["mark"] in ("read", "memory")


def test_our_copy_of_the_blocks_equals_the_collection() -> None:
    if not SHARED.exists():
        pytest.skip(f"the collection is not on this machine ({SHARED.name} in a folder 'shared' beside the project)")
    blocks = re.findall(r"```json\n(.*?)```", SHARED.read_text(encoding="utf-8"), re.DOTALL)
    assert [json.loads(block) for block in blocks] == [copy["block"] for copy in COPY]


def test_our_copy_of_the_listed_figures_equals_the_collection() -> None:
    if not SHARED.exists():
        pytest.skip(f"the collection is not on this machine ({SHARED.name} in a folder 'shared' beside the project)")
    lines = SHARED.read_text(encoding="utf-8").splitlines()
    for row in ISO_LISTED:
        assert f"| {row['item']} | {row['printed']} | {row['mark']} |" in lines, row
        assert f"{row['limit']:g}" in row["printed"].replace("1.0", "1").replace("2.0", "2"), row
