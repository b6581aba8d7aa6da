"""Power of a finished lens against its order: every edge of every band, and what no form and no size may change.

The bands are those of the collected blocks (standards.md sections 1.5 and 2.8, copied in tests/published/standards.json
with where they come from), never those of our own tables.
"""

import cmath
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from core_strategies import axes, lenses, quarter_lenses, steady
from hypothesis import given
from hypothesis import strategies as st

from optics_core.errors import DomainError
from optics_core.power_tolerance import (
    Comparison,
    Limit,
    add_comparison,
    deviation_of_axis,
    listed_limit,
    power_comparisons,
)
from optics_core.sources import sources
from optics_core.sphero_cylinder import SpheroCylinder, transposed

COPY = json.loads((Path(__file__).parents[1] / "published" / "standards.json").read_text(encoding="utf-8"))
ANSI, ISO = (copy["block"] for copy in COPY)
ISO_LISTED = COPY[1]["listed"]
ANSI_ID, ISO_ID = "ansi-z80.1-2015", "iso-21987-2017"
STANDARDS = pytest.mark.parametrize("standard", [ANSI_ID, ISO_ID])
LENSES = {"single_vision": ("sv_mf", "sv_mf"), "progressive": ("pal", "power_variation")}

# One step of the trade is 0.25 D or 1 degree; a hundredth is nearer to an edge than anything that is ordered.
STEP = 0.01
# The least that a measurement shows beyond a limit.
MORE = 0.001


def compared(standard: str, lens: str, ordered: SpheroCylinder, measured: SpheroCylinder) -> dict[str, Comparison]:
    kind: Any = lens
    found = power_comparisons(standard=standard, lens=kind, ordered=ordered, measured=measured)
    assert len({one.quantity for one in found}) == len(found)
    return {one.quantity: one for one in found}


def size(row: dict[str, Any], ordered: float) -> float:
    """The limit a block's row sets for an ordered power."""
    return float(row["tol_d"]) if "tol_d" in row else row["tol_pct"] * abs(ordered) / 100


def within_bands(rows: list[dict[str, Any]], end: str, first: float = STEP) -> Iterator[tuple[float, dict[str, Any]]]:
    """Values at the lower edge of each band (just beyond the one before) and at its upper edge, with the row there."""
    before = None
    for row in rows:
        yield first if before is None else before + STEP, row
        if row[end] is None:
            yield (before or 0.0) + 4.0, row
        else:
            yield row[end], row
            before = row[end]


def assert_limit(judge: Any, limit: float) -> None:
    """`judge(deviation)` passes up to the limit, at it too, and fails beyond, to either side."""
    for sign in (1, -1):
        at = judge(sign * limit)
        assert at.limit.size == pytest.approx(limit, abs=1e-9)
        assert at.within is True
        assert at.share == pytest.approx(1.0, abs=1e-6)
        assert judge(sign * (limit - MORE)).within is True
        beyond = judge(sign * (limit + MORE))
        assert beyond.within is False
        assert beyond.share > 1.0


def ids(case: Any) -> str:
    return "-".join(
        f"{part:g}" if isinstance(part, float) else str(part) for part in case if not isinstance(part, dict)
    )


# --- every band of ANSI Z80.1-2015, standards.md 1.5 ---------------------------------------------------------------

SPHERES = [
    (lens, s, row) for lens, (key, _) in LENSES.items() for s, row in within_bands(ANSI["sphere"][key], "max_abs")
]
CYLINDERS = [
    (lens, c, row)
    for lens, (key, _) in LENSES.items()
    for c, row in within_bands(ANSI["cylinder"][key], "max_abs", 0.5)
]


@pytest.mark.parametrize("case", SPHERES, ids=ids)
@pytest.mark.parametrize("sign", [1, -1])
def test_ansi_spheres_pass_up_to_the_collected_limit_and_no_further(case: Any, sign: int) -> None:
    lens, sphere, row = case
    ordered = SpheroCylinder(sign * sphere, -1.0, 30.0)
    assert_limit(
        lambda off: compared(ANSI_ID, lens, ordered, SpheroCylinder(sign * sphere + off, -1.0, 30.0))["sphere"],
        size(row, sphere),
    )


@pytest.mark.parametrize("case", CYLINDERS, ids=ids)
def test_ansi_cylinders_pass_up_to_the_collected_limit_and_no_further(case: Any) -> None:
    lens, cylinder, row = case
    # The power of the sphere makes no difference to the cylinder's band.
    for sphere in (0.5, -7.5, 9.0):
        ordered = SpheroCylinder(sphere, -cylinder, 30.0)
        assert_limit(
            lambda off, s=sphere, o=ordered: compared(ANSI_ID, lens, o, SpheroCylinder(s, -cylinder - off, 30.0))[
                "cylinder"
            ],
            size(row, cylinder),
        )


# --- every cell of ISO 21987, standards.md 2.8 ---------------------------------------------------------------------


def iso_cells() -> Iterator[tuple[str, float, float, float, float]]:
    """Lens, higher power, cylinder, A and B at the corners of each cell of power and cylinder."""
    for lens, (_, key) in LENSES.items():
        for power, row in within_bands(ISO[key], "max_abs", 0.25):
            columns = [{"end": end, "B": limit} for end, limit in zip(ISO["cyl_columns_max"], row["B"], strict=True)]
            for cylinder, column in within_bands(columns, "end", 0.5):
                # Powers of opposite signs are 2 x power apart at most, so some cells have no lens in them.
                if cylinder <= 2 * power:
                    yield lens, power, cylinder, row["A"], column["B"]


CELLS = list(iso_cells())


def test_only_the_cells_without_a_lens_are_left_out() -> None:
    corners = sum(len(ISO[key]) for _, key in LENSES.values()) * 2 * len(ISO["cyl_columns_max"]) * 2
    # Power of 0.25: all cylinders but 0.50 (7 corners of 8, for both kinds of lens). Power of 3.00, which only single
    # vision has an edge at: 6.01 and 10.00; of 3.01: 10.00; of 6.00 and more: none.
    assert corners == 176
    assert len({(lens, power) for lens, power, *_ in CELLS}) == 22
    missing = corners - len(CELLS)
    assert missing == 2 * 7 + 2 + 1


@pytest.mark.parametrize("case", CELLS, ids=ids)
@pytest.mark.parametrize("sign", [1, -1])
def test_iso_powers_and_cylinders_pass_up_to_the_collected_limit_and_no_further(case: Any, sign: int) -> None:
    lens, power, cylinder, limit_a, limit_b = case
    # The higher power is +power or -power; the other lies a cylinder towards, or beyond, 0.
    higher, lower = sign * power, sign * (power - cylinder)

    def measured(stronger_off: float, weaker_off: float) -> dict[str, Comparison]:
        # Written with the cylinder that leads from the one to the other, of either sign.
        got = SpheroCylinder(higher + stronger_off, lower + weaker_off - higher - stronger_off, 30.0)
        return compared(ISO_ID, lens, SpheroCylinder(higher, lower - higher, 30.0), got)

    assert_limit(lambda off: measured(off, off)["stronger_meridian"], limit_a)
    assert_limit(lambda off: measured(off, off)["weaker_meridian"], limit_a)
    assert_limit(lambda off: measured(0.0, off)["cylinder"], limit_b)


# --- axis and addition of both -------------------------------------------------------------------------------------

AXES = [
    *((ANSI_ID, c, float(row["tol_deg"])) for c, row in within_bands(ANSI["axis"], "max_cyl") if c >= 0.12),
    (ANSI_ID, 0.12, 14.0),
    *((ISO_ID, c, float(row["deg"])) for c, row in within_bands(ISO["axis_mounted"], "max_cyl") if c >= 0.125),
    (ISO_ID, 0.125, 16.0),
]
ADDS = [
    (standard, add, row["tol_d"])
    for standard, block in ((ANSI_ID, ANSI), (ISO_ID, ISO))
    for add, row in within_bands(block["add"], "max_add")
]


@pytest.mark.parametrize("case", AXES, ids=ids)
@pytest.mark.parametrize("lens", LENSES)
@pytest.mark.parametrize("axis", [1.0, 45.0, 90.0, 178.0, 180.0])
def test_axes_pass_up_to_the_collected_limit_and_no_further(case: Any, lens: str, axis: float) -> None:
    standard, cylinder, limit = case
    ordered = SpheroCylinder(-2.0, -cylinder, axis)
    assert_limit(
        lambda off: compared(standard, lens, ordered, SpheroCylinder(-2.0, -cylinder, (axis + off) % 180.0))["axis"],
        limit,
    )


@pytest.mark.parametrize("case", ADDS, ids=ids)
def test_additions_pass_up_to_the_collected_limit_and_no_further(case: Any) -> None:
    standard, add, limit = case
    assert_limit(lambda off: add_comparison(standard=standard, ordered_d=add, measured_d=add + off), limit)


@pytest.mark.parametrize(("standard", "least"), [(ANSI_ID, ANSI["axis_min_cyl"]), (ISO_ID, 0.125)])  # 1.1 and 2.3
def test_the_axis_of_a_cylinder_below_the_least_has_no_limit(standard: str, least: float) -> None:
    below = SpheroCylinder(1.0, -(least - MORE), 90.0)
    axis = compared(standard, "single_vision", below, SpheroCylinder(1.0, -0.1, 20.0))["axis"]
    assert (axis.limit, axis.share, axis.within) == (None, None, None)
    assert axis.deviation == -70.0
    at = compared(standard, "single_vision", SpheroCylinder(1.0, -least, 90.0), SpheroCylinder(1.0, -0.1, 20.0))
    assert at["axis"].within is False


@STANDARDS
def test_without_an_ordered_or_a_measured_cylinder_there_is_no_axis_to_compare(standard: str) -> None:
    lens, sphere = SpheroCylinder(-2.0, -0.5, 90.0), SpheroCylinder(-2.0, 0.0, None)
    for ordered, measured in ((lens, sphere), (sphere, lens)):
        found = compared(standard, "single_vision", ordered, measured)
        assert "axis" not in found
        assert found["cylinder"].within is False  # which carries it
        assert abs(found["cylinder"].deviation) == 0.5


# --- which meridian governs, standards.md section 8 row 7 ----------------------------------------------------------


def test_ansi_takes_the_band_of_the_minus_cylinder_sphere_though_the_other_meridian_is_stronger() -> None:
    # -6.50 is the last sphere of 0.13; the other meridian is -10.50, and 2 % of that would be 0.21.
    ordered = SpheroCylinder(-6.5, -4.0, 90.0)
    found = compared(ANSI_ID, "single_vision", ordered, ordered)
    assert set(found) == {"sphere", "cylinder", "axis"}
    assert found["sphere"].limit is not None
    assert found["sphere"].limit.size == ANSI["sphere"]["sv_mf"][0]["tol_d"] == 0.13
    # Written with a plus cylinder its sphere is -10.50, and still the minus form's is judged.
    plus = SpheroCylinder(-10.5, 4.0, 180.0)
    assert compared(ANSI_ID, "single_vision", plus, ordered) == found


def test_iso_takes_the_band_of_the_stronger_meridian_whichever_it_is() -> None:
    # -5.50 -4.00: -9.50 governs, 0.18 for powers and 0.18 for a cylinder of 4.00 (2.8, row up to 12.00).
    found = compared(ISO_ID, "single_vision", SpheroCylinder(-5.5, -4.0, 90.0), SpheroCylinder(-5.5, -4.0, 90.0))
    assert set(found) == {"stronger_meridian", "weaker_meridian", "cylinder", "axis"}
    assert (found["stronger_meridian"].ordered, found["weaker_meridian"].ordered) == (-9.5, -5.5)
    limits = [found[name].limit for name in ("stronger_meridian", "weaker_meridian", "cylinder")]
    assert [limit.size for limit in limits if limit is not None] == [0.18, 0.18, 0.18]
    # +9.50 -4.00: the sphere of the minus form governs.
    found = compared(ISO_ID, "single_vision", SpheroCylinder(9.5, -4.0, 90.0), SpheroCylinder(9.5, -4.0, 90.0))
    assert (found["stronger_meridian"].ordered, found["weaker_meridian"].ordered) == (9.5, 5.5)


def test_of_two_meridians_as_strong_the_more_plus_is_the_stronger() -> None:
    ordered = SpheroCylinder(0.5, -1.0, 90.0)
    for written in (ordered, SpheroCylinder(-0.5, 1.0, 180.0)):
        found = compared(ISO_ID, "single_vision", written, SpheroCylinder(0.75, -1.75, 90.0))
        assert (found["stronger_meridian"].ordered, found["stronger_meridian"].measured) == (0.5, 0.75)
        assert (found["weaker_meridian"].ordered, found["weaker_meridian"].measured) == (-0.5, -1.0)


# --- properties ----------------------------------------------------------------------------------------------------


def lens_of(written: dict[str, Any]) -> SpheroCylinder:
    return SpheroCylinder(**written)


def crossed(lens: SpheroCylinder) -> SpheroCylinder:
    return transposed(sphere_d=lens.sphere_d, cylinder_d=lens.cylinder_d, axis_deg=lens.axis_deg)


kinds = st.sampled_from(list(LENSES))


@STANDARDS
@steady
@given(written=lenses, kind=kinds)
def test_a_lens_as_ordered_deviates_in_nothing(standard: str, written: dict[str, Any], kind: str) -> None:
    lens = lens_of(written)
    for found in (compared(standard, kind, lens, lens), compared(standard, kind, lens, crossed(lens))):
        for one in found.values():
            assert one.deviation == pytest.approx(0.0, abs=1e-9)
            assert one.within is (None if one.limit is None else True)


@STANDARDS
@steady
@given(ordered=quarter_lenses, measured=lenses, kind=kinds)
def test_the_form_in_which_either_is_written_makes_no_difference(
    standard: str, ordered: dict[str, Any], measured: dict[str, Any], kind: str
) -> None:
    wanted, got = lens_of(ordered), lens_of(measured)
    found = compared(standard, kind, wanted, got)
    for other in (
        compared(standard, kind, crossed(wanted), got),
        compared(standard, kind, wanted, crossed(got)),
        compared(standard, kind, crossed(wanted), crossed(got)),
    ):
        assert list(other) == list(found)
        for name, one in found.items():
            assert other[name].limit == one.limit
            for part in ("ordered", "measured", "deviation"):
                # An axis a rounding below 180 may come out a rounding above 0, and a turn of 90 as its opposite.
                apart = getattr(other[name], part) - getattr(one, part)
                if name == "axis":
                    apart = (apart + 90.0) % 180.0 - 90.0
                assert apart == pytest.approx(0.0, abs=1e-8)


@STANDARDS
@steady
@given(
    ordered=st.tuples(st.floats(-12, 12), st.floats(-7, -0.125), axes),
    measured=st.tuples(st.floats(-12, 12), st.floats(-7, -0.01), st.floats(-90, 90)),
    near=st.floats(1e-3, 0.2),
    shares=st.tuples(st.floats(0, 1), st.floats(0, 1)),
    kind=kinds,
)
def test_a_greater_deviation_never_turns_a_fail_into_a_pass(
    standard: str, ordered: Any, measured: Any, near: float, shares: Any, kind: str
) -> None:
    sphere, cylinder, axis = ordered

    def at(share: float) -> dict[str, Comparison]:
        part = share * near
        got = SpheroCylinder(
            sphere + part * (measured[0] - sphere),
            cylinder + part * (measured[1] - cylinder),
            axis + part * measured[2],
        )
        return compared(standard, kind, SpheroCylinder(*ordered), got)

    less, more = (at(share) for share in sorted(shares))
    for name in less:
        assert abs(more[name].deviation) >= abs(less[name].deviation) - 1e-9
        if less[name].within is False:
            assert more[name].within is not True


@steady
@given(ordered=lenses, measured=lenses)
def test_the_powers_compared_are_the_eigenvalues_of_the_power_matrices(
    ordered: dict[str, Any], measured: dict[str, Any]
) -> None:
    def eigenvalues(lens: dict[str, Any]) -> list[float]:
        """Lesser plus, more plus. A cylinder acts across its axis: S I + C n n', n at right angles to the axis."""
        angle = math.radians((lens["axis_deg"] or 0.0) + 90.0)
        across = np.array([math.cos(angle), math.sin(angle)])
        matrix = lens["sphere_d"] * np.eye(2) + lens["cylinder_d"] * np.outer(across, across)
        return [float(value) for value in np.linalg.eigvalsh(matrix)]

    (low, high), (low_got, high_got) = eigenvalues(ordered), eigenvalues(measured)
    iso = compared(ISO_ID, "single_vision", lens_of(ordered), lens_of(measured))
    found = {(iso[name].ordered, iso[name].deviation) for name in ("stronger_meridian", "weaker_meridian")}
    for (power, deviation), (wanted, off) in zip(
        sorted(found, reverse=True), ((high, high_got - high), (low, low_got - low)), strict=len(found) == 2
    ):
        assert power == pytest.approx(wanted, abs=1e-8)
        if abs(high - low) > 1e-6:
            assert deviation == pytest.approx(off, abs=1e-8)
    assert abs(iso["stronger_meridian"].ordered) >= abs(iso["weaker_meridian"].ordered)
    ansi = compared(ANSI_ID, "single_vision", lens_of(ordered), lens_of(measured))
    assert ansi["sphere"].deviation == pytest.approx(high_got - high, abs=1e-8)
    assert ansi["cylinder"].deviation == pytest.approx((low_got - high_got) - (low - high), abs=1e-8)
    assert iso["cylinder"].deviation == ansi["cylinder"].deviation


@steady
@given(ordered=st.floats(-400, 400), measured=st.floats(-400, 400))
def test_the_turn_of_an_axis_is_half_the_turn_of_the_doubled_angle(ordered: float, measured: float) -> None:
    turn = deviation_of_axis(ordered_deg=ordered, measured_deg=measured)
    doubled = cmath.exp(2j * math.radians(measured - ordered))
    assert -90.0 < turn <= 90.0
    # -90 and 90 are one turn: compare on the circle.
    assert abs(cmath.exp(2j * math.radians(turn)) - doubled) < 1e-8
    assert abs(turn) == pytest.approx(abs(math.degrees(cmath.phase(doubled))) / 2, abs=1e-6)


@pytest.mark.parametrize(
    ("ordered", "measured", "turn"), [(178, 3, 5.0), (3, 178, -5.0), (180, 90, 90.0), (90, 180, 90.0), (0, 180, 0.0)]
)
def test_turns_go_the_shorter_way_and_a_quarter_turn_is_positive(ordered: int, measured: int, turn: float) -> None:
    assert deviation_of_axis(ordered_deg=ordered, measured_deg=measured) == turn


@pytest.mark.parametrize("ordered", [0.25 * step for step in range(-24, 25)])
def test_a_deviation_of_just_the_limit_passes_whatever_its_binary_fraction(ordered: float) -> None:
    for off in (0.13, -0.13):
        measured = round(ordered + off, 2)
        found = compared(
            ANSI_ID, "single_vision", SpheroCylinder(ordered, 0.0, None), SpheroCylinder(measured, 0.0, None)
        )
        assert (found["sphere"].deviation, found["sphere"].share, found["sphere"].within) == (off, 1.0, True)


# --- listed limits -------------------------------------------------------------------------------------------------

ANSI_LISTED = [
    *(("segment", name, ANSI["segment"][key], "mm") for name, key in (
        ("height", "height_mm"), ("pair_height_difference", "pair_height_diff_mm"),
        ("pair_horizontal", "horizontal_total_mm"), ("size", "size_mm"), ("pair_size_difference", "pair_size_diff_mm"),
    )),
    ("segment", "tilt", ANSI["segment"]["tilt_deg"], "deg"),
    *(("fitting_cross", name, ANSI["fitting_cross"][key], "mm") for name, key in (
        ("vertical", "vertical_mm"), ("pair_vertical_difference", "pair_vertical_diff_mm"),
        ("horizontal", "horizontal_mm_each"),
    )),
    ("fitting_cross", "tilt", ANSI["fitting_cross"]["tilt_deg"], "deg"),
    ("physical", "centre_thickness", ANSI["centre_thickness_mm"], "mm"),
    ("physical", "base_curve", ANSI["base_curve_d"], "D"),
    ("physical", "warpage", ANSI["warpage_d"], "D"),
]  # fmt: skip
LISTED = [
    *((ANSI_ID, *row) for row in ANSI_LISTED),
    *((ISO_ID, row["section"], row["quantity"], row["limit"], row["unit"]) for row in ISO_LISTED),
]


@pytest.mark.parametrize(("standard", "section", "quantity", "size", "unit"), LISTED)
def test_listed_limits_are_the_collected_ones(
    standard: str, section: str, quantity: str, size: float, unit: str
) -> None:
    limit = listed_limit(standard=standard, section=section, quantity=quantity)
    assert limit is not None
    assert (limit.size, limit.unit) == (size, unit)
    assert limit.source in sources()


def test_what_a_standard_does_not_list_has_no_limit() -> None:
    for section, quantity in (("physical", "base_curve"), ("physical", "warpage"), ("segment", "colour")):
        assert listed_limit(standard=ISO_ID, section=section, quantity=quantity) is None


def test_a_limit_says_where_it_is_from_and_how_it_is_known() -> None:
    axis = compared(ISO_ID, "single_vision", SpheroCylinder(0.0, -0.25, 90.0), SpheroCylinder(0.0, -0.25, 90.0))["axis"]
    assert axis.limit == Limit(16.0, "deg", "iso-21987-2017", "memory", "Recalled with real doubt.")
    sphere = compared(ANSI_ID, "progressive", SpheroCylinder(9.0, 0.0, None), SpheroCylinder(9.0, 0.0, None))["sphere"]
    assert sphere.limit == Limit(0.18, "D", "ansi-z80.1-2015", "read")


# --- what is refused -----------------------------------------------------------------------------------------------

GOOD = SpheroCylinder(-2.0, -1.0, 90.0)
NO_AXIS = SpheroCylinder(-2.0, -1.0, None)
SEVERAL: Any = SpheroCylinder(np.array([-2.0, -3.0]), -1.0, 90.0)  # type: ignore[arg-type]
NOT_ONE = SpheroCylinder(math.nan, -1.0, 90.0)


@STANDARDS
@pytest.mark.parametrize(
    ("bad", "argument"), [(NO_AXIS, "axis_deg"), (SEVERAL, "sphere_d"), (NOT_ONE, "sphere_d")], ids=str
)
def test_a_lens_that_is_none_is_refused_on_either_side(standard: str, bad: SpheroCylinder, argument: str) -> None:
    for ordered, measured in ((bad, GOOD), (GOOD, bad)):
        with pytest.raises(DomainError) as refusal:
            power_comparisons(standard=standard, lens="single_vision", ordered=ordered, measured=measured)
        assert refusal.value.argument == argument


def test_words_that_name_no_table_no_lens_and_no_section_are_refused_by_name() -> None:
    word: Any
    for word in ("iso-21987", "", None, ["ansi-z80.1-2015"]):
        for refused in (
            lambda word=word: power_comparisons(standard=word, lens="single_vision", ordered=GOOD, measured=GOOD),
            lambda word=word: add_comparison(standard=word, ordered_d=2.0, measured_d=2.0),
            lambda word=word: listed_limit(standard=word, section="segment", quantity="tilt"),
        ):
            with pytest.raises(DomainError) as refusal:
                refused()
            assert refusal.value.argument == "standard"
    for word in ("bifocal", None, ["progressive"]):
        with pytest.raises(DomainError) as refusal:
            power_comparisons(standard=ANSI_ID, lens=word, ordered=GOOD, measured=GOOD)
        assert refusal.value.argument == "lens"
    for word in ("sphere", "", None):
        with pytest.raises(DomainError) as refusal:
            listed_limit(standard=ANSI_ID, section=word, quantity="height")
        assert refusal.value.argument == "section"
