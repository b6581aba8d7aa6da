"""The lens as a body. What is printed in the sources stands beside each figure; the rest is worked out by hand here.

By hand means: circles of radius 1000 (n - 1) / F, the identity edge + front sag = centre + back sag (M. Jalie, Lens Talk,
The Indian Optician, May-June 2023, p. 112), the back power Fv - F1 / (1 - (t/n) F1) and for plus lenses the loop of
D. Meister (OptiBoard), as the handbook has them in section 6. Least centres and edges are those of the shipped profile.
"""

from math import ceil, cos, floor, pi, radians, sin, sqrt
from typing import Any

import pytest
from desk import BLANK, GONE, LATER, SHOP, A, Case, Edits, L, R, edited, findings, least, most, one_of, prove, spoken

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order
from service.contract.thickness import EdgeAt, EyeThicknessAnswer
from service.rules.rule import shown

CENTRE, FRONT, SUPPLY, RIM, MATERIAL = (
    "/lens/centre_thickness_mm",
    "/lens/front_power_d",
    "/lens/supply",
    "/frame/rim",
    "/lens/material",
)
STOCKED = {  # index at the d line (handbook, section 9) and least centre (the shipped profile)
    "hard-resin-1.50": (1.498, 2.0),
    "polycarbonate": (1.586, 1.5),
    "thiourethane-1.60": (1.596, 1.3),
    "thiourethane-1.67": (1.6625, 1.3),
    "episulphide-1.74": (1.735, 1.1),
}
N = STOCKED["polycarbonate"][0]


def circle(radius_mm: float, count: int = 72) -> list[list[float]]:
    return [[radius_mm * cos(2 * pi * k / count), radius_mm * sin(2 * pi * k / count)] for k in range(count)]


def round_frame(a_mm: float, dbl_mm: float = 18) -> Edits:
    return {
        A: a_mm, "/frame/b_mm": a_mm, "/frame/ed_mm": a_mm, "/frame/dbl_mm": dbl_mm,
        "/frame/trace": {"right": {"points_mm": circle(a_mm / 2)}},
        "/fitting_height_mm": {"right": a_mm / 2, "left": a_mm / 2},
    }  # fmt: skip


# A round lens of 50 mm: (50 + 18) / 2 - 32 = 2 mm inward, so its edge lies 23 to 27 mm from the pupil, farthest temporally.
ROUND, FARTHEST, NEAREST = round_frame(50), 27.0, 23.0


def both(**members: Any) -> dict[str, Any]:
    return {f"{eye}/{name}": value for eye in (R, L) for name, value in members.items()}


def arriving(front: float, centre: float, n: float) -> float:
    return front / (1 - centre / 1000 / n * front)


def sag(power: float, h: float, n: float) -> float:
    curve = power / (1000 * (n - 1))
    return curve * h * h / (1 + sqrt(1 - curve * curve * h * h))


def edge(sphere: float, front: float, centre: float, h: float, n: float = N) -> float:
    return centre + sag(arriving(front, centre, n) - sphere, h, n) - sag(front, h, n)


def thinning(add: float, depth: float, corridor: float = 14.0) -> float:
    """Curvature that rises along the corridor and stays, summed twice; Simpson's rule is exact for what is summed."""

    def pulled(u: float) -> float:
        return (depth - u) * add * min(u / corridor, 1.0) / (1000 * (N - 1))

    turn = min(depth, corridor)
    parts = [(0.0, turn), (turn, depth)]
    return sum(
        (end - start) / 6 * (pulled(start) + 4 * pulled((start + end) / 2) + pulled(end)) for start, end in parts
    )


def centre_of(sphere: float, front: float, h: float, least_edge: float, n: float = N) -> float:
    """The plus lens loop: too thin an edge is added to the centre, until nothing is left to add."""
    centre = 2.0
    for _ in range(400):
        centre += least_edge - edge(sphere, front, centre, h, n)
    return centre


def thin_enough(sphere: float, front: float, limit: float) -> list[str]:
    found = []
    for name, (n, centre) in STOCKED.items():
        back = (arriving(front, centre, n) - sphere) / (1000 * (n - 1))
        reaches = back * FARTHEST < 1  # of a low index a circle may be too small
        if reaches and edge(sphere, front, centre, FARTHEST, n) <= limit:
            found.append(name)
    return [name for name in found if name != "polycarbonate"]


def widest(sphere: float, front: float, limit: float) -> float:
    """The widest round frame, by trying each tenth: its farthest edge is A/2 + (A + 18)/2 - 32 mm from the pupil."""
    return max(tenth / 10 for tenth in range(380, 500) if edge(sphere, front, 1.5, tenth / 10 - 23, N) <= limit)


FOUR, TEN = {FRONT: 4.0}, ROUND | both(sphere=4.0) | {FRONT: 10.0}
DRILLED, NOTED = 5.0, 6.0
ADDED = {blank: centre_of(1.5, 8, blank / 2, 1.0) - centre_of(1.5, 8, FARTHEST, 1.0) for blank in (65, 70)}
STOCK_EDGE = {blank: edge(2, 8, centre_of(2, 8, blank / 2, 1.0), FARTHEST) for blank in (70, 75)}
PLUS_2 = ROUND | both(sphere=2.0) | {FRONT: 8.0, RIM: "drilled"}


def inside(centre: float, sphere: float = -6.0, front: float = 4.0, prism: float = 8.0) -> tuple[float, float]:
    """Thickness and place of the thinnest point of a minus lens with base in, tried along the wedge."""

    def at(x: float) -> tuple[float, float]:
        return edge(sphere, front, centre, x) - 10 * prism * x / (1000 * (N - 1)), x

    _, near = min(at(step / 100) for step in range(3001))
    return min(at(near + step / 100_000) for step in range(-1000, 1001))


WEDGED: Edits = ROUND | FOUR | both(sphere=-6.0) | {
    "/prescription/right/prism": [{"amount": 8.0, "base": "in"}], SUPPLY: "surfaced",
}  # fmt: skip
# The tenths of a millimetre around which nothing, and as much as the material asks for, is left.
CROSSED = max(step / 10 for step in range(1, 60) if inside(step / 10)[0] <= 0)
ENOUGH = min(step / 10 for step in range(1, 60) if inside(step / 10)[0] >= 1.5)
IN_RIM: Edits = ROUND | FOUR | both(sphere=-4.0) | {"/frame/rim_depth_mm": 2.0}
NEAREST_EDGE = edge(-4, 4, 1.5, NEAREST)
PRISM: Edits = {"/prescription/right/prism": [{"amount": 2.0, "base": "in"}]}

CASES = (
    Case(
        # 586 / 27 = 21.7037 D is half a ball of 27 mm radius.
        code="lens-body-impossible",
        severity="review",
        within=(ROUND | both(sphere=10.0) | {FRONT: 21.7, SUPPLY: "surfaced"},),
        beyond=ROUND | both(sphere=10.0) | {FRONT: 21.71, SUPPLY: "surfaced"},
        eye="right",
        pointer=FRONT,
        value=21.71,
        unit="D",
    ),
    Case(
        # The round blank of 70 mm: 586 / 35 = 16.7429 D. Ground for the frame there is such a lens.
        code="lens-body-impossible",
        severity="review",
        within=(
            ROUND | both(sphere=10.0) | {FRONT: 16.74},
            ROUND | both(sphere=10.0) | {FRONT: 16.75, SUPPLY: "surfaced"},
            ROUND | both(sphere=10.0) | {FRONT: 16.75, BLANK: 69},
        ),
        beyond=ROUND | both(sphere=10.0) | {FRONT: 16.75},
        eye="right",
        pointer=FRONT,
        value=16.75,
        unit="D",
        remedies=[one_of(SUPPLY, "surfaced")],
    ),
    Case(
        # Nothing is left at the place worked out below: 2.0 mm of centre do, 1.9 do not.
        code="lens-crossed-inside",
        severity="reject",
        within=(WEDGED | {CENTRE: CROSSED + 0.1}, WEDGED, ROUND | FOUR | both(sphere=-5.0) | {CENTRE: 0.5}),
        beyond=WEDGED | {CENTRE: CROSSED},
        eye="right",
        pointer=CENTRE,
        value=inside(CROSSED)[0],
        limit=0.0,
        unit="mm",
        remedies=[least(CENTRE, ENOUGH)],
    ),
    Case(
        code="lens-thin-inside",
        severity="review",
        within=(WEDGED | {CENTRE: ENOUGH}, WEDGED),
        beyond=WEDGED | {CENTRE: round(ENOUGH - 0.1, 1)},
        eye="right",
        pointer=CENTRE,
        value=inside(round(ENOUGH - 0.1, 1))[0],
        limit=1.5,
        unit="mm",
        remedies=[least(CENTRE, ENOUGH)],
    ),
    Case(
        code="lens-shows-in-front",
        severity="note",
        within=(
            IN_RIM | {"/frame/bevel_from_front_mm": 3.0},
            IN_RIM | {"/frame/rim_depth_mm": 4.0, "/frame/bevel_from_front_mm": 4.0},
        ),
        beyond=IN_RIM | {"/frame/bevel_from_front_mm": 3.1},
        eye="right",
        pointer="/frame/bevel_from_front_mm",
        value=2.1,
        limit=2.0,
        unit="mm",
        key="thickness.shows_noted_mm",
        moved=1.9,
    ),
    Case(
        code="bevel-off-edge",
        severity="review",
        within=(
            IN_RIM | {"/frame/bevel_from_front_mm": floor(100 * NEAREST_EDGE) / 100},
            ROUND | FOUR | both(sphere=-4.0) | {"/frame/bevel_from_front_mm": 6.0},
        ),
        beyond=IN_RIM | {"/frame/bevel_from_front_mm": ceil(100 * NEAREST_EDGE) / 100},
        eye="right",
        pointer="/frame/bevel_from_front_mm",
        value=ceil(100 * NEAREST_EDGE) / 100,
        limit=NEAREST_EDGE,
        unit="mm",
    ),
    Case(
        code="centre-thick",
        severity="note",
        within=(TEN | {CENTRE: 8.0}, TEN),
        beyond=TEN | {CENTRE: 8.1},
        eye="right",
        pointer=MATERIAL,
        value=8.1,
        limit=8.0,
        unit="mm",
        key="thickness.centre_noted_mm",
        moved=7.9,
    ),
    Case(
        code="lens-runs-out",
        severity="reject",
        within=(TEN | {CENTRE: 2.7}, TEN),
        beyond=TEN | {CENTRE: 2.6},
        eye="right",
        pointer=CENTRE,
        value=edge(4, 10, 2.6, FARTHEST),
        limit=1.0,
        unit="mm",
        key="thickness.least_edge_full_mm",
        remedies=[least(CENTRE, ceil(10 * centre_of(4, 10, FARTHEST, 1.0)) / 10)],
    ),
    Case(
        code="edge-too-thin",
        severity="review",
        within=(TEN | {CENTRE: 3.7}, TEN | {CENTRE: 2.6}, TEN),
        beyond=TEN | {CENTRE: 3.6},
        eye="right",
        pointer=CENTRE,
        value=edge(4, 10, 3.6, FARTHEST),
        limit=1.0,
        unit="mm",
        key="thickness.least_edge_full_mm",
        moved=1.1,
        remedies=[least(CENTRE, 3.7)],
    ),
    Case(
        # A finished blank is made for a full rim; from one of 75 mm enough is left for the drill, from one of 70 mm not.
        code="edge-too-thin",
        severity="review",
        within=(PLUS_2 | {BLANK: 75}, PLUS_2 | {SUPPLY: "surfaced"}, PLUS_2 | {RIM: "full"}),
        beyond=PLUS_2,
        eye="right",
        pointer=CENTRE,
        value=STOCK_EDGE[70],
        limit=2.0,
        unit="mm",
        key="thickness.least_edge_drilled_mm",
        moved=2.5,
        # The centre of a finished blank cannot be ordered.
        remedies=[one_of(SUPPLY, "surfaced")],
    ),
    Case(
        code="centre-too-thin",
        severity="review",
        within=({CENTRE: 1.5}, {}),
        beyond={CENTRE: 1.4},
        eye="right",
        pointer=CENTRE,
        value=1.4,
        limit=1.5,
        unit="mm",
        remedies=[least(CENTRE, 1.5)],
    ),
    Case(
        code="edge-thick-for-drilling",
        severity="review",
        within=(
            ROUND | FOUR | both(sphere=-5.0) | {RIM: "drilled"},
            ROUND | FOUR | both(sphere=-5.5) | {RIM: "grooved"},
        ),
        beyond=ROUND | FOUR | both(sphere=-5.5) | {RIM: "drilled"},
        eye="right",
        pointer=RIM,
        value=edge(-5.5, 4, 1.5, FARTHEST),
        limit=DRILLED,
        unit="mm",
        key="thickness.most_edge_drilled_mm",
        moved=4.8,
        remedies=[one_of(MATERIAL, *thin_enough(-5.5, 4, DRILLED)), most(A, widest(-5.5, 4, DRILLED))],
    ),
    Case(
        code="edge-unusually-thick",
        severity="review",
        within=(ROUND | FOUR | both(sphere=-14.0), ROUND | FOUR | both(sphere=-15.0) | {RIM: "drilled"}),
        beyond=ROUND | FOUR | both(sphere=-15.0),
        eye="right",
        pointer=MATERIAL,
        value=edge(-15, 4, 1.5, FARTHEST),
        limit=14.0,
        unit="mm",
        key="thickness.edge_unusual_mm",
        moved=13.0,
        remedies=[one_of(MATERIAL, *thin_enough(-15, 4, 14.0)), most(A, widest(-15, 4, 14.0))],
    ),
    Case(
        code="lower-edge-thin-with-add",
        severity="review",
        within=(
            ROUND | {"/lens/use": "progressive"} | both(sphere=0.0, add=3.0) | {CENTRE: 3.5},
            ROUND | {"/lens/use": "progressive"} | both(sphere=0.0),
            ROUND | {"/lens/use": "near"} | both(sphere=0.0, add=3.0),
        ),
        beyond=ROUND | {"/lens/use": "progressive"} | both(sphere=0.0, add=3.0) | {CENTRE: 1.5},
        eye="right",
        pointer="/lens/use",
        # A front of 6 D for a plano lens, the pupil 2 mm inward; 14 mm of corridor.
        value=min(
            edge(0.0, 6.0, 1.5, sqrt((x - 2) ** 2 + y * y)) - thinning(3.0, -y) for x, y in circle(25) if y < -1e-9
        ),
        limit=1.0,
        unit="mm",
        key="thickness.least_edge_full_mm",
    ),
    Case(
        code="stock-lens-cannot-have-it",
        severity="review",
        within=({SUPPLY: "stock"}, PRISM, PRISM | {SUPPLY: "surfaced"}),
        beyond=PRISM | {SUPPLY: "stock"},
        pointer=SUPPLY,
        value="stock",
        remedies=[one_of(SUPPLY, "surfaced")],
    ),
    Case(
        code="edge-thick",
        severity="note",
        within=(ROUND | FOUR | both(sphere=-6.5),),
        beyond=ROUND | FOUR | both(sphere=-7.0),
        eye="right",
        pointer=MATERIAL,
        value=edge(-7, 4, 1.5, FARTHEST),
        limit=NOTED,
        unit="mm",
        key="thickness.edge_noted_mm",
        moved=5.9,
        remedies=[one_of(MATERIAL, *thin_enough(-7, 4, NOTED)), most(A, widest(-7, 4, NOTED))],
    ),
    Case(
        # The bevel's tip 1 mm behind the lens's front and in the middle of a rim of 2 mm: what is beyond 2 mm stands out.
        code="lens-shows-behind-rim",
        severity="note",
        within=(
            ROUND | FOUR | both(sphere=-3.5) | {"/frame/rim_depth_mm": 2.0},
            ROUND | FOUR | both(sphere=-4.0) | {"/frame/rim_depth_mm": 2.0, "/frame/bevel_from_front_mm": 1.2},
            ROUND | FOUR | both(sphere=-4.0),
        ),
        beyond=ROUND | FOUR | both(sphere=-4.0) | {"/frame/rim_depth_mm": 2.0},
        eye="right",
        pointer="/frame/rim_depth_mm",
        value=edge(-4, 4, 1.5, FARTHEST) - 2.0,
        limit=2.0,
        unit="mm",
        key="thickness.shows_noted_mm",
        moved=1.8,
    ),
    Case(
        code="stock-lens-thicker",
        severity="note",
        within=(
            ROUND | both(sphere=1.5) | {FRONT: 8.0, BLANK: 65},
            ROUND | both(sphere=1.5) | {FRONT: 8.0, SUPPLY: "surfaced"},
            ROUND | both(sphere=1.5) | {FRONT: 8.0, CENTRE: 3.0},
            ROUND | both(sphere=-1.5) | {BLANK: 75},
        ),
        beyond=ROUND | both(sphere=1.5) | {FRONT: 8.0},
        eye="right",
        pointer=BLANK,
        value=ADDED[70],
        limit=0.5,
        unit="mm",
        key="thickness.stock_thicker_mm",
        moved=0.4,
        remedies=[one_of(BLANK, 65.0), one_of(SUPPLY, "surfaced")],
    ),
    Case(
        code="safety-bevel-advised",
        severity="note",
        within=({RIM: "full"},),
        beyond={RIM: "grooved"},
        pointer=RIM,
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_rules_on_thickness_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


@pytest.mark.parametrize("case", [case for case in CASES if case.remedies and case.unit], ids=str)
def test_one_step_short_of_a_remedy_the_lens_is_still_too_thin_or_too_thick(case: Case) -> None:
    for remedy in spoken(edited(case.beyond), case).remedies:
        short: list[Edits] = []
        if remedy.pointer == SUPPLY:
            continue  # there are but two ways of supply
        if remedy.pointer == A:
            assert remedy.at_most is not None
            short = [round_frame(round(remedy.at_most + 0.1, 1))]
        elif remedy.at_least is not None:
            short = [{remedy.pointer: round(remedy.at_least - 0.1, 1)}]
        elif remedy.pointer == MATERIAL:
            short = [{MATERIAL: name} for name in STOCKED if name not in (remedy.one_of or ())]
        else:
            short = [{BLANK: size} for size in (65.0, 70.0, 75.0) if size not in (remedy.one_of or ())]
        milder = {"lens-runs-out": "edge-too-thin", "lens-crossed-inside": "lens-thin-inside"}
        codes = {case.code, milder.get(case.code, "lens-body-impossible")}
        assert short
        for edits in short:
            found = findings(edited({**case.beyond, **edits}))
            assert [one for one in found if one.eye == "right" and one.code in codes], edits


# --- figures of the answer ------------------------------------------------------------------------------------------


def answer(edits: Edits) -> CheckAnswer:
    return check(Order.model_validate(edited(edits)), SHOP, LATER)


def right(edits: Edits) -> EyeThicknessAnswer:
    found = answer(edits).thickness
    assert found is not None
    assert found.right is not None
    return found.right


def left(edits: Edits) -> EyeThicknessAnswer:
    found = answer(edits).thickness
    assert found is not None
    assert found.left is not None
    return found.left


def edges(found: EyeThicknessAnswer) -> tuple[EdgeAt, EdgeAt]:
    assert found.edge_mm is not None
    return found.edge_mm.thinnest, found.edge_mm.thickest


def centred(diameter_mm: float, count: int = 72, dbl_mm: float = 18) -> Edits:
    """A round lens with the pupil in its middle."""
    half = (diameter_mm + dbl_mm) / 2
    trace = {"right": {"points_mm": circle(diameter_mm / 2, count)}}
    return {**round_frame(diameter_mm, dbl_mm), "/frame/trace": trace, "/pd_mm": {"right": half, "left": half}}


def with_back(front: float, back: float, centre: float, n: float) -> Edits:
    """The lens with these surfaces, ordered by its back vertex power."""
    return both(sphere=back + arriving(front, centre, n)) | {FRONT: front, CENTRE: centre}


def test_jalies_minus_10_has_the_edge_worked_out_for_it() -> None:
    # t6-edge-jalie-minus10: +4.00 and -14.00, 44 mm, centre 1.0, crown. The question was read; 6.30 was worked out for it.
    found = right(centred(44) | {MATERIAL: "crown-glass"} | with_back(4.0, -14.0, 1.0, 1.523))
    assert [one.mm for one in edges(found)] == [pytest.approx(6.30, abs=0.006)] * 2
    assert (found.front_from, found.centre_from, found.centre_mm) == ("order", "order", 1.0)


def test_jalies_plano_convex_lens_has_the_printed_centre() -> None:
    # t6-sag-jalie-planoconvex: +10.00 front, flat back, 40 mm, edge 1: centre 4.98. The power is inferred there.
    edits = centred(40) | {MATERIAL: "crown-glass", FRONT: 10.0, SUPPLY: "surfaced"}
    found = right(edits | both(sphere=arriving(10.0, 4.9752, 1.523)))
    assert found.centre_mm == pytest.approx(4.98, abs=0.006)
    assert [one.mm for one in edges(found)] == [pytest.approx(1.0, abs=1e-4)] * 2


def test_the_exact_edge_of_a_minus_6_is_8_1_millimetres() -> None:
    # t6-exact-thickness, derived in the handbook: +3.00 and -9.00, 60 mm, centre 2, hard resin: 8.105.
    found = right(centred(60) | {MATERIAL: "hard-resin-1.50", BLANK: 75} | with_back(3.0, -9.0, 2.0, 1.498))
    assert [one.mm for one in edges(found)] == [pytest.approx(8.105, abs=0.001)] * 2


@pytest.mark.parametrize(
    ("front", "back", "centre", "weight"),
    [(3.0, -9.0, 2.0, 10.324), (7.0, -3.0, 4.0, 7.001)],  # t6-weight-1 and -2, derived there from the caps of spheres
)
def test_round_lenses_of_50_mm_weigh_what_their_caps_do(
    front: float, back: float, centre: float, weight: float
) -> None:
    found = right(centred(50, 720) | {MATERIAL: "hard-resin-1.50"} | with_back(front, back, centre, 1.498))
    assert found.weight_g == pytest.approx(weight, abs=0.001)


def test_a_wedge_of_2_pd_over_50_mm_is_as_thick_as_the_rule_has_it() -> None:
    # P g / (100 (n - 1)), from memory; the sags above and below the pupil are the same.
    prism = [{"amount": 2, "base": "up"}]
    found = right(centred(50) | both(sphere=0.0, prism=prism) | {"/edge_profile": True})
    assert found.profile_mm is not None
    at = {round(one.angle_deg): one.mm for one in found.profile_mm}
    assert at[90] - at[270] == pytest.approx(2 * 50 / (100 * (N - 1)), abs=1e-3)
    assert at[0] == pytest.approx(at[180], abs=1e-3)
    assert found.centre_mm is not None
    assert at[0] == pytest.approx(edge(0, 6, found.centre_mm, 25), abs=2e-4)


@pytest.mark.parametrize(("base", "angle"), [("in", 0), ("out", 180), ("up", 90), ("down", 270), (30, 30)])
def test_the_thick_side_of_a_prism_is_its_base(base: str | int, angle: int) -> None:
    thinnest, thickest = edges(right(centred(50) | both(sphere=0.0, prism=[{"amount": 6, "base": base}])))
    assert thickest.angle_deg == pytest.approx(angle)
    assert thinnest.angle_deg == pytest.approx((angle + 180) % 360)


def test_a_minus_lens_is_thickest_temporally_where_the_pupil_lies_inward() -> None:
    edits = ROUND | FOUR | both(sphere=-4.0)
    for found, temporal in ((right(edits), 180.0), (left(edits), 0.0)):
        thinnest, thickest = edges(found)
        assert thickest.angle_deg == pytest.approx(temporal, abs=1e-4)
        assert thinnest.angle_deg == pytest.approx(180 - temporal, abs=1e-4)
        assert thickest.mm == pytest.approx(edge(-4, 4, 1.5, FARTHEST), abs=1e-4)
        assert thinnest.mm == pytest.approx(edge(-4, 4, 1.5, NEAREST), abs=1e-4)


def test_a_cylinder_has_in_each_principal_meridian_the_edge_of_its_sphere() -> None:
    # -4.00 -2.00 x 90: -4.00 up and down, -6.00 to both sides.
    edits = centred(50) | both(sphere=-4.0, cylinder=-2.0, axis=90) | {FRONT: 4.0, "/edge_profile": True}
    found = right(edits)
    assert found.profile_mm is not None
    at = {round(one.angle_deg): one.mm for one in found.profile_mm}
    assert (at[0], at[180]) == (pytest.approx(edge(-6, 4, 1.5, 25), abs=1e-4),) * 2
    assert (at[90], at[270]) == (pytest.approx(edge(-4, 4, 1.5, 25), abs=1e-4),) * 2


def test_a_stock_lens_is_as_thick_as_its_blank_asks_and_a_surfaced_one_as_its_frame() -> None:
    edits = ROUND | both(sphere=1.5) | {FRONT: 8.0}
    for supply, h in (("stock", 35.0), ("surfaced", FARTHEST)):
        found = right(edits | {SUPPLY: supply})
        assert found.centre_mm == pytest.approx(centre_of(1.5, 8, h, 1.0), abs=1e-4)
        assert edges(found)[0].mm == pytest.approx(edge(1.5, 8, centre_of(1.5, 8, h, 1.0), FARTHEST), abs=1e-4)
    stock = right(edits).round_or_ground
    assert stock is not None
    assert stock.stock_centre_mm == pytest.approx(centre_of(1.5, 8, 35, 1.0), abs=1e-4)
    assert stock.surfaced_centre_mm == pytest.approx(centre_of(1.5, 8, FARTHEST, 1.0), abs=1e-4)
    assert stock.difference_mm == pytest.approx(ADDED[70], abs=1e-4)
    assert right(edits | {SUPPLY: "surfaced"}).round_or_ground is None
    assert right(ROUND).round_or_ground is None


def test_a_blank_whose_optical_centre_lies_off_its_middle_is_thick_as_its_farther_rim_asks() -> None:
    offset = {"/lens/blank": {"centre_offset_mm": {"right": {"in": 1.5, "up": 0}, "left": {"in": 1.5, "up": 0}}}}
    found = right(ROUND | both(sphere=1.5) | {FRONT: 8.0} | offset)
    assert found.centre_mm == pytest.approx(centre_of(1.5, 8, 36.5, 1.0), abs=1e-4)


@pytest.mark.parametrize(
    ("sphere", "front"), [(3.0, 9.0), (0.0, 6.0), (-4.0, 4.0), (-11.0, 0.5), (-14.0, 0.5), (6.0, 12.0), (13.0, 12.0)]
)
def test_the_front_follows_vogels_rule_within_its_ends(sphere: float, front: float) -> None:
    # From memory; the ends are the house's own.
    found = right(both(sphere=sphere))
    assert (found.front_power_d, found.front_from) == (front, "rule")


def test_a_finished_blank_brings_its_own_front() -> None:
    rows = [
        {
            "name": "plain 70", "material": "polycarbonate", "diameter_mm": 70, "sphere_least_d": -6, "sphere_most_d": 4,
            "cylinder_most_d": 2, "front_power_d": 4.5,
        }
    ]  # fmt: skip
    found = right({"/profile/blanks": rows})
    assert (found.front_power_d, found.front_from) == (4.5, "stock")
    ordered = right({"/profile/blanks": rows, FRONT: 5.5})
    assert (ordered.front_power_d, ordered.front_from) == (5.5, "order")


@pytest.mark.parametrize(
    ("material", "least_centre"), [(name, centre) for name, (_, centre) in STOCKED.items()] + [("crown-glass", 2.0)]
)
def test_a_minus_lens_has_the_least_centre_of_its_material(material: str, least_centre: float) -> None:
    found = right(both(sphere=-4.0) | {MATERIAL: material})
    assert (found.centre_mm, found.least_centre_mm, found.centre_from) == (least_centre, least_centre, "rule")


@pytest.mark.parametrize(("rim", "least_edge"), [("full", 1.0), ("grooved", 1.8), ("drilled", 2.0)])
def test_a_surfaced_plus_lens_has_the_edge_that_its_rim_asks_for(rim: str, least_edge: float) -> None:
    found = right(ROUND | both(sphere=3.0) | {RIM: rim, SUPPLY: "surfaced"})
    assert (found.least_edge_mm, edges(found)[0].mm) == (least_edge, least_edge)
    assert found.centre_mm == pytest.approx(centre_of(3, 9, FARTHEST, least_edge), abs=1e-4)


def test_what_shows_lies_before_and_behind_a_rim_about_the_bevel() -> None:
    edits = ROUND | FOUR | both(sphere=-4.0) | {"/frame/rim_depth_mm": 2.4}
    thick = edge(-4, 4, 1.5, FARTHEST)
    for bevel, front in ((1.0, 0.0), (2.0, 0.8), (9.0, thick - 1.2)):
        shown = right(edits | {"/frame/bevel_from_front_mm": bevel}).shows
        assert shown is not None
        assert shown.front_mm == pytest.approx(front, abs=1e-4)
        assert shown.behind_mm == pytest.approx(max(0.0, thick - min(bevel, thick) - 1.2), abs=1e-4)
    assert right(ROUND).shows is None


def test_what_was_taken_for_the_body_is_said() -> None:
    edits = both(sphere=2.0) | {"/frame/rim_depth_mm": 2.0}
    taken = {one.pointer: one.value for one in answer(edits).assumptions}
    assert taken[SUPPLY] == "stock"
    assert taken["/frame/bevel_from_front_mm"] == 1.0
    told = answer(edits | {"/frame/bevel_from_front_mm": 0.5, SUPPLY: "surfaced"}).assumptions
    assert not {SUPPLY, "/frame/bevel_from_front_mm"} & {one.pointer for one in told}
    # A round blank that cannot be is one more consequence of what was taken.
    steep = answer(ROUND | both(sphere=10.0) | {FRONT: 16.75})
    assert "lens-body-impossible" in {one.code for one in steep.findings}
    assert SUPPLY in {one.pointer for one in steep.assumptions}


def test_a_lens_that_cannot_be_made_has_no_figures() -> None:
    found = right(both(sphere=20.0) | {FRONT: 25.0, MATERIAL: "hard-resin-1.50", "/edge_profile": True})
    assert (found.centre_mm, found.edge_mm, found.profile_mm, found.weight_g, found.shows) == (None,) * 5
    assert (found.front_power_d, found.least_centre_mm, found.least_edge_mm) == (25.0, 2.0, 1.0)


def test_without_power_or_material_nothing_is_said_of_the_body() -> None:
    assert answer({MATERIAL: "unheard-of"}).thickness is None
    alone = answer({f"{R}/sphere": 60.0}).thickness
    assert alone is not None
    assert alone.right is None
    assert alone.left is not None


def test_each_blank_of_an_unlike_pair_is_named_by_its_own_size() -> None:
    # The left eye's +3.00 comes from the blank of 75 mm only.
    usual = {"material": "polycarbonate", "sphere_least_d": 0, "cylinder_most_d": 2}
    rows = [
        {"name": "small", "diameter_mm": 70, "sphere_most_d": 2, **usual},
        {"name": "large", "diameter_mm": 75, "sphere_most_d": 4, **usual},
    ]
    edits = ROUND | {f"{R}/sphere": 2.0, f"{L}/sphere": 3.0, "/profile/blanks": rows}
    document = edited(edits)
    del document["lens"]["blank_diameter_mm"]
    found = {one.eye: one for one in findings(document, "stock-lens-thicker")}
    assert "round blank of 70 mm" in found["right"].message
    assert "round blank of 75 mm" in found["left"].message
    # The smaller one does not come in +3.00.
    assert found["left"].remedies == [one_of(SUPPLY, "surfaced")]


def test_no_remedy_is_offered_that_the_round_blank_would_undo() -> None:
    """From a blank the lens is thicker than ground for the frame, which is all that was known where no blank was at hand."""
    edits = both(sphere=8.0) | {MATERIAL: "crown-glass", FRONT: 14.0}
    document = edited(edits)
    del document["lens"]["blank_diameter_mm"]
    found = findings(document, "edge-thick")
    assert found == [] or [one.remedies for one in found] == [[], []]
    steep = both(sphere=8.5) | {MATERIAL: "hard-resin-1.50", BLANK: 75}
    assert [one.remedies for one in findings(edited(steep), "edge-thick")] in ([], [[], []])


@pytest.mark.parametrize("sphere", [20.0, 25.0])
def test_a_centre_beyond_what_an_order_may_name_is_not_offered(sphere: float) -> None:
    # The lens of +20.00 needs 38.5 mm, that of +25.00 more than the 40 mm that the contract allows.
    edits = centred(80, dbl_mm=0) | both(sphere=sphere) | {FRONT: 12.4, MATERIAL: "hard-resin-1.50", CENTRE: 25.0}
    needed = ceil(10 * centre_of(sphere, 12.4, 40, 1.0, 1.498)) / 10
    assert (needed > 40) == (sphere == 25.0)
    found = findings(edited(edits), "lens-runs-out")
    assert len(found) == 2
    for one in found:
        assert one.value == pytest.approx(edge(sphere, 12.4, 25.0, 40, 1.498), abs=1e-6)
        assert one.remedies == ([] if needed > 40 else [least(CENTRE, needed)])


def tyre(x: float, y: float, along: float, across: float, axis: float, front: float, centre: float) -> float:
    """Thickness at a place from the pole, by the circles that define the back: the steeper one swung about the flatter's."""
    turn, back = radians(axis), arriving(front, centre, N)
    q, p = x * cos(turn) + y * sin(turn), y * cos(turn) - x * sin(turn)
    flat, steep = (1000 * (N - 1) / (back - power) for power in (along, across))
    if abs(steep) > abs(flat):
        flat, steep, q, p = steep, flat, p, q
    swung = flat - (steep - sqrt(steep**2 - p**2))
    ball = 1000 * (N - 1) / front
    return centre + flat - sqrt(swung**2 - q**2) - (ball - sqrt(ball**2 - q**2 - p**2))


def test_the_thinnest_place_of_a_tilted_ellipse_is_where_brute_force_finds_it() -> None:
    points = [
        [26 * cos(t) * cos(0.3) - 19 * sin(t) * sin(0.3), 26 * cos(t) * sin(0.3) + 19 * sin(t) * cos(0.3)]
        for t in (2 * pi * k / 90 for k in range(90))
    ]
    half_a, half_b = max(x for x, _ in points), max(y for _, y in points)
    edits: dict[str, Any] = {
        A: 2 * half_a, "/frame/b_mm": 2 * half_b, "/frame/ed_mm": 52, "/frame/trace": {"right": {"points_mm": points}},
        "/fitting_height_mm": {"right": half_b + 2, "left": half_b + 2}, FRONT: 7.0, CENTRE: 4.0,
    }  # fmt: skip
    found = right(edits | both(sphere=1.0, cylinder=-2.5, axis=35))
    pole = (2 * half_a + 18) / 2 - 32, 2.0
    by_hand = [tyre(x - pole[0], y - pole[1], 1.0, -1.5, 35, 7.0, 4.0) for x, y in points]
    thinnest, thickest = edges(found)
    assert (thinnest.mm, thickest.mm) == (pytest.approx(min(by_hand), abs=1e-4), pytest.approx(max(by_hand), abs=1e-4))


@pytest.mark.parametrize(("along", "across", "axis"), [(2.0, 0.5, 30), (-1.0, 2.0, 70), (0.5, 2.0, 125)])
@pytest.mark.parametrize(("offset_in", "offset_up"), [(3, 4), (-3, 4), (0, 0)])
def test_a_toric_stock_lens_is_thick_as_the_thinnest_place_of_its_rim_asks(
    along: float, across: float, axis: float, offset_in: float, offset_up: float
) -> None:
    place = {"in": offset_in, "up": offset_up}
    edits = {"/lens/blank": {"centre_offset_mm": {"right": place, "left": place}}, FRONT: 8.0}
    power = both(sphere=along, cylinder=across - along, axis=axis)
    for eye, nasal in ((right, 1), (left, -1)):
        # The blank's middle lies as far out and down of the optical centre as this lies in and up of it.
        rim = [(35 * cos(t) - nasal * offset_in, 35 * sin(t) - offset_up) for t in (radians(k / 2) for k in range(720))]
        centre = 3.0
        for _ in range(60):
            centre += 1.0 - min(tyre(x, y, along, across, axis, 8.0, centre) for x, y in rim)
        # The service looks at 72 points of the rim: it may miss the thinnest by some thousandths.
        assert eye(ROUND | edits | power).centre_mm == pytest.approx(centre, abs=6e-3)


def test_a_smaller_blank_is_offered_where_the_list_has_it_in_this_power_and_with_this_front() -> None:
    usual = {"material": "polycarbonate", "sphere_least_d": 0, "cylinder_most_d": 2}

    def offered(**small: Any) -> list[Any]:
        rows = [
            {"name": "small", "diameter_mm": 65, "sphere_most_d": 4, **usual, **small},
            {"name": "large", "diameter_mm": 70, "sphere_most_d": 4, "front_power_d": 8.0, **usual},
        ]
        found = findings(edited(ROUND | both(sphere=1.5) | {"/profile/blanks": rows}), "stock-lens-thicker")
        assert len(found) == 2
        *blanks, supply = found[0].remedies
        assert supply == one_of(SUPPLY, "surfaced")
        return blanks

    assert offered(front_power_d=8.0) == [one_of(BLANK, 65.0)]
    assert offered(front_power_d=8.0, sphere_most_d=1.25) == []
    assert offered(front_power_d=9.0) == []
    assert offered() == []


def test_the_remedies_of_the_cases_are_on_the_safe_side_by_less_than_a_step() -> None:
    assert edge(-7, 4, 1.5, widest(-7, 4, NOTED) + 0.1 - 23) > NOTED
    assert floor(10 * centre_of(4, 10, FARTHEST, 1.0)) / 10 == pytest.approx(3.6)


def test_no_smaller_frame_is_offered_for_a_lens_that_is_cut_to_another_size() -> None:
    corners = [(25, 20), (-25, 20), (-25, -20), (25, -20)]
    points = [
        [x1 + (x2 - x1) * part / 8, y1 + (y2 - y1) * part / 8]
        for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True)
        for part in range(8)
    ]
    thick = (
        FOUR
        | both(sphere=-5.0)
        | {"/frame/a_mm": 50, "/frame/ed_mm": GONE, "/frame/trace/right": {"points_mm": points}, BLANK: 90}
    )
    for change, offered in ((0.0, True), (1.0, False)):
        found = findings(edited(thick | {"/frame/trace/size_change_mm": change}), "edge-thick")
        assert found
        assert any(one.pointer == A for one in found[0].remedies) == offered


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [(-0.001, "mm", "0 mm"), (-0.001, "D", "+0.00 D"), (-0.25, "mm", "-0.25 mm"), (-2.0, "D", "-2.00 D")],
)
def test_a_nought_has_no_sign_of_its_own(value: float, unit: str, words: str) -> None:
    assert shown(value, unit) == words
