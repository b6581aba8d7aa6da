"""One finished lens against its order, quantity by quantity."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from optics_core.power_tolerance import add_comparison, power_comparisons
from optics_core.prism import Prism, inward
from optics_core.residual import Spread
from optics_core.tolerance import LensType
from service.facts import OrderFacts
from service.facts_judged import Judged, Missing, compared, figure_compared, listed
from service.facts_measured import Figure, MeasuredLens
from service.facts_near import EyeNear
from service.facts_place import EyePlace
from service.facts_prescription import EyePower
from service.facts_thickness import EyeThickness
from service.quantities import quantity
from service.rounding import settled
from service.values import NEEDS_ADD, EyeName

NO_PRISM: Final = Prism(0.0, 0.0)
_SEGMENTED = frozenset({"bifocal", "trifocal"})
_FOR_NEAR = frozenset({"near", "intermediate"})
_OF_READING_PARTS: Final = {
    "add": "the addition",
    "segment_height_mm": "the segment height",
    "segment_from_bridge_mm": "the distance of the segment from the bridge",
    "segment_tilt_deg": "the tilt of the segment",
    "fitting_point_height_mm": "the height of the fitting point",
    "fitting_point_from_bridge_mm": "the distance of the fitting point from the bridge",
    "marks_tilt_deg": "the tilt of the alignment marks",
}
# What has to be measured, by use. The tilts may be left out: they are held against a level that needs no order.
_OF_SEGMENTS: Final = ("add", "segment_height_mm", "segment_from_bridge_mm")
_BELONGS: Final = {
    "bifocal": _OF_SEGMENTS,
    "trifocal": _OF_SEGMENTS,
    "progressive": ("add", "fitting_point_height_mm", "fitting_point_from_bridge_mm"),
}
_HOW_ORDERED: Final = (
    "The power to be made does not follow from the order: state it under verification, or order it for that distance."
)
_HOW_WRONG: Final = (
    "It was read, and does not belong to a pair for {use} use: make sure that these are the lenses of this order."
)


@dataclass(frozen=True, slots=True)
class LensInspection:
    """One lens, with what it is held against. `centre` and `height` are those of its optical centre as measured."""

    ordered: EyePower
    measured: MeasuredLens
    place: EyePlace | None
    near: EyeNear | None
    body: EyeThickness | None
    use: str
    from_bridge: Figure | None
    height: Figure | None

    @property
    def eye(self) -> EyeName:
        """Whose lens it is."""
        return self.ordered.eye


def lens_inspections(
    ordered: tuple[EyePower, EyePower],
    measured: tuple[MeasuredLens, MeasuredLens],
    order: OrderFacts,
    from_bridge: tuple[Figure | None, Figure | None],
    heights: tuple[Figure | None, Figure | None],
) -> tuple[LensInspection, LensInspection]:
    """Both lenses with what they are held against, right lens first."""

    def one(number: int) -> LensInspection:
        eye = ordered[number].eye
        return LensInspection(
            ordered=ordered[number],
            measured=measured[number],
            place=next((place for place in order.places if place.eye == eye), None),
            near=None if order.near is None else order.near.eyes[number],
            body=next((body for body in order.thickness if body.eye == eye), None),
            use=order.lens.use,
            from_bridge=from_bridge[number],
            height=heights[number],
        )

    return one(0), one(1)


def lens_judged(lens: LensInspection, standard: str, kind: LensType) -> Iterator[Judged]:
    """Everything of one lens that was measured and can be compared."""
    yield from _power(lens, standard, kind)
    yield from _prism(lens)
    yield from _centre(lens)
    yield from _reading_part(lens, standard)
    yield from _body(lens, standard)


def lens_missing(lens: LensInspection, found: Iterable[Judged]) -> Iterator[Missing]:
    """What belongs to the inspection of one lens and was not compared, and what was read and does not belong to it.

    A faulty reading is told by itself.
    """
    eye, others = lens.eye, lens.measured.others
    if lens.ordered.optics is None:
        yield Missing(eye, "the power", f"/measured/{eye}/sphere", _HOW_ORDERED if lens.use in _FOR_NEAR else "")
    elif lens.measured.power is None and lens.measured.fault is None:
        yield Missing(eye, "the power", f"/measured/{eye}/sphere")
    held = {quantity(one.quantity).member for one in found}
    if lens.near is not None and lens.near.pd_mm is not None and lens.use in _SEGMENTED:
        held |= others.keys() & {"segment_from_bridge_mm"}  # of the pair it is the distance that is compared
    belongs = _BELONGS.get(lens.use, ())
    for name, words in _OF_READING_PARTS.items():
        # An addition of 0 says that there is none, as it should be.
        read = name in others and not (name == "add" and name not in belongs and others[name].mean == 0)
        if name not in held and (name in belongs or read):
            how = _HOW_WRONG.format(use=lens.use) if name not in belongs else ""
            yield Missing(eye, words, f"/measured/{eye}/{name}", how)


def _power(lens: LensInspection, standard: str, kind: LensType) -> Iterator[Judged]:
    found, ordered = lens.measured.power, lens.ordered.optics
    if found is not None and ordered is not None:
        for one in power_comparisons(standard=standard, lens=kind, ordered=ordered.minus, measured=found.lens):
            yield compared(lens.eye, one, found.count, _spread(found.spread, one.quantity))
    add = lens.measured.others.get("add")
    if add is not None and lens.use in NEEDS_ADD and lens.ordered.add_d is not None:
        one = add_comparison(standard=standard, ordered_d=lens.ordered.add_d, measured_d=add.mean)
        yield compared(lens.eye, one, add.count, add.spread)


def _spread(spread: Spread | None, name: str) -> float | None:
    if spread is None:
        return None
    return {"sphere": spread.sphere_d, "cylinder": spread.cylinder_d, "axis": spread.axis_deg}.get(
        name, spread.meridian_d
    )


def _prism(lens: LensInspection) -> Iterator[Judged]:
    """Each lens's prism, for people to see which lens is off: the limits are for the pair."""
    found, ordered = lens.measured.prism, lens.ordered.prism or NO_PRISM
    if found is None:
        return
    spread = lens.measured.prism_spread
    for name, wanted, got, apart in (
        (
            "horizontal_prism",
            inward(eye=lens.eye, x=ordered.x_pd),
            inward(eye=lens.eye, x=found.x_pd),
            None if spread is None else spread.x_pd,
        ),
        ("vertical_prism", ordered.y_pd, found.y_pd, None if spread is None else spread.y_pd),
    ):
        figure = Figure(settled(got), lens.measured.prism_count, apart)
        yield figure_compared(lens.eye, name, settled(wanted), figure, None)


def _centre(lens: LensInspection) -> Iterator[Judged]:
    """Each optical centre; where prism is prescribed it does not belong at the pupil, and nothing is compared."""
    if lens.place is None or lens.ordered.prism is not None:
        return
    if lens.from_bridge is not None:
        yield figure_compared(lens.eye, "optical_centre_from_bridge", lens.place.pd_mm, lens.from_bridge, None)
    if lens.height is not None and lens.place.height_mm is not None:
        yield figure_compared(lens.eye, "optical_centre_height", lens.place.height_mm, lens.height, None)


def _reading_part(lens: LensInspection, standard: str) -> Iterator[Judged]:
    eye, others = lens.eye, lens.measured.others
    if lens.use in _SEGMENTED:
        height, segment = others.get("segment_height_mm"), None if lens.near is None else lens.near.segment
        if height is not None and segment is not None:
            limit = listed(standard, "segment", "height")
            yield figure_compared(eye, "segment_height", segment.height_mm, height, limit)
        if (tilt := others.get("segment_tilt_deg")) is not None:
            yield figure_compared(eye, "segment_tilt", 0.0, tilt, listed(standard, "segment", "tilt"))
    if lens.use == "progressive":
        height, across = others.get("fitting_point_height_mm"), others.get("fitting_point_from_bridge_mm")
        if height is not None and lens.place is not None and lens.place.height_mm is not None:
            limit = listed(standard, "fitting_cross", "vertical")
            yield figure_compared(eye, "fitting_point_height", lens.place.height_mm, height, limit)
        if across is not None and lens.place is not None:
            limit = listed(standard, "fitting_cross", "horizontal")
            yield figure_compared(eye, "fitting_point_from_bridge", lens.place.pd_mm, across, limit)
        if (tilt := others.get("marks_tilt_deg")) is not None:
            yield figure_compared(eye, "marks_tilt", 0.0, tilt, listed(standard, "fitting_cross", "tilt"))


def _body(lens: LensInspection, standard: str) -> Iterator[Judged]:
    """Thickness and front surface have limits where they were ordered; otherwise they are shown beside what was expected."""
    eye, others, body = lens.eye, lens.measured.others, lens.body
    if body is not None:
        if (centre := others.get("centre_thickness_mm")) is not None and body.centre_mm is not None:
            limit = listed(standard, "physical", "centre_thickness") if body.centre_from == "order" else None
            yield figure_compared(eye, "centre_thickness", body.centre_mm, centre, limit)
        if (front := others.get("front_power_d")) is not None:
            limit = listed(standard, "physical", "base_curve") if body.front_from == "order" else None
            yield figure_compared(eye, "front_power", body.front_power_d, front, limit)
    if (warpage := others.get("warpage_d")) is not None:
        yield figure_compared(eye, "warpage", 0.0, warpage, listed(standard, "physical", "warpage"))
