"""What can be saved of a pair that failed: lenses cut again for a smaller frame, or used in another order.

A lens whose power is beyond its limits is of no use for its own order. One that sits or lies wrong may be cut again, with its
optical centre at the pupil and its axis as ordered, if the old lens is large enough. A person decides; nothing is advised
where the place of the optical centre was not measured.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from optics_core.boxing import decentration_in, decentration_up
from optics_core.errors import DomainError
from optics_core.power_tolerance import deviation_of_axis, power_comparisons
from optics_core.prism import Prism, decentration_for_prism, inward
from optics_core.re_edging import fits_within, largest_re_edge
from optics_core.sphero_cylinder import SpheroCylinder
from service.facts import OrderFacts
from service.facts_inspect_lens import NO_PRISM, LensInspection
from service.facts_inspect_pair import PairInspection
from service.facts_inspection import InspectionFacts
from service.facts_judged import Judged
from service.facts_place import EyePlace, shape_points
from service.profile.loader import Limits
from service.rounding import settled
from service.values import NEEDS_ADD, EyeName

_EYES: Final[tuple[EyeName, EyeName]] = ("right", "left")
# What a lens that is cut again can be rid of; everything else stays with the lens.
_OF_PLACE: Final = frozenset({"axis", "horizontal_imbalance", "vertical_imbalance"})
# How much wider a bridge of another frame may be. Common practice, no source: beyond that the pads no longer sit.
_WIDER_BRIDGES_MM: Final = (0.0, 1.0, 2.0, 3.0, 4.0)
_READING_PART: Final = (
    "{eye} lens: it has a reading part, whose place moves with the lens; what can be saved is left to a person."
)
_NO_CENTRE: Final = (
    "{eye} lens: where its optical centre lies was not measured both ways, so whether it can be cut again is not known."
)
Kind = Literal["re-edge", "turn", "exchange", "other-order"]


@dataclass(frozen=True, slots=True)
class OpenOrder:
    """Another order still to be made; `facts` is None where it cannot be worked with."""

    number: int
    reference: str | None
    facts: OrderFacts | None


@dataclass(frozen=True, slots=True)
class Frame:
    """The largest frame of the same proportions that a lens serves."""

    a_mm: float
    b_mm: float
    dbl_mm: float


@dataclass(frozen=True, slots=True)
class Way:
    """Something that may save a lens, or both where `eye` is None; `frame` is the largest that it then is for."""

    kind: Kind
    eye: EyeName | None
    frame: Frame | None = None
    turn_deg: float = 0.0
    open_order: OpenOrder | None = None
    for_eye: EyeName | None = None
    modelled: bool = False


@dataclass(frozen=True, slots=True)
class SavingFacts:
    """Lenses that cannot stay in this frame, ways to save something, and what could not be worked out."""

    remake: tuple[EyeName, ...]
    ways: tuple[Way, ...]
    not_worked_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Old:
    """A finished lens as a piece to be cut again: its outline, and where in it the optical centre lies."""

    lens: LensInspection
    place: EyePlace
    points: Any
    x_mm: float
    y_mm: float


def saving_facts(
    facts: InspectionFacts, order: OrderFacts, open_orders: Sequence[OpenOrder], limits: Limits
) -> SavingFacts:
    """Work out what can be saved of a pair that failed."""
    if facts.pair is None:
        return SavingFacts((), (), ())
    margin = limits.profile.inspection.re_edge_margin_mm
    failed = [one for one in facts.judged if one.result == "fail"]
    remake = tuple(eye for eye in _EYES if any(_is_off(eye, one, facts.pair) for one in failed))
    unknown: list[str] = []
    ways: list[Way] = []
    lenses = facts.pair.right, facts.pair.left
    old = [_old(lens, order, lens.ordered.prism) for lens in lenses]
    for lens, piece in zip(lenses, old, strict=True):
        if lens.eye in remake and lens.use in NEEDS_ADD:
            unknown.append(_READING_PART.format(eye=lens.eye).capitalize())
        elif lens.eye in remake and piece is None:
            unknown.append(_NO_CENTRE.format(eye=lens.eye).capitalize())
    pieces = [piece for piece in old if piece is not None and piece.lens.use not in NEEDS_ADD]
    if all(one.quantity in _OF_PLACE for one in failed) and len(pieces) == 2:
        ways += _cut_again(pieces, order, margin)
    spoilt = {one.eye for one in failed if one.eye is not None and one.quantity not in _OF_PLACE}
    ways += _turned(facts, order, spoilt, margin)
    ways += _exchanged(facts, order, margin)
    for lens in lenses:
        if lens.eye in remake and lens.use not in NEEDS_ADD and (piece := _old(lens, order, None)) is not None:
            ways += _in_other_orders(piece, order, open_orders, facts, margin)
    return SavingFacts(remake, tuple(ways), tuple(unknown))


def _is_off(eye: EyeName, one: Judged, pair: PairInspection) -> bool:
    """Whether a failure is this lens's: its own, or the pair's where the lens has more than half of what is allowed."""
    if one.eye is not None or one.limit is None:
        return one.eye == eye
    error = pair.right_error if eye == "right" else pair.left_error
    if error is None or not one.quantity.endswith("_imbalance"):
        return True
    own = error.horizontal_pd if one.quantity == "horizontal_imbalance" else error.vertical_pd
    return own is None or abs(own) > one.limit / 2


def _old(lens: LensInspection, order: OrderFacts, wanted: Prism | None) -> _Old | None:
    """The lens as a piece that is to have this prism at the pupil; None where its power, or such a point, is not known."""
    at = None if lens.place is None else _centre(lens, lens.place, order, wanted)
    if lens.place is None or at is None:
        return None
    return _Old(lens, lens.place, shape_points(lens.place, order.frame), *at)


def _centre(
    lens: LensInspection, place: EyePlace, order: OrderFacts, wanted: Prism | None
) -> tuple[float, float] | None:
    """The point that is to lie at the pupil, from the boxed centre: by the prism that was read, or the optical centre."""
    if lens.measured.power is None:
        return None
    try:
        if lens.measured.prism is not None:
            power, read, wanted = lens.measured.power.lens, lens.measured.prism, wanted or NO_PRISM
            x, y = decentration_for_prism(
                sphere_d=power.sphere_d,
                cylinder_d=power.cylinder_d,
                axis_deg=power.axis_deg,
                x_pd=read.x_pd - wanted.x_pd,
                y_pd=read.y_pd - wanted.y_pd,
            )
            return settled(inward(eye=lens.eye, x=place.in_mm) + x), settled(place.up_taken_mm + y)
        if wanted is not None or lens.from_bridge is None or lens.height is None:
            return None  # with prism the optical centre is not what belongs at the pupil
        in_mm = decentration_in(a_mm=place.a_mm, dbl_mm=order.frame.dbl_mm, pd_mm=lens.from_bridge.mean)
        up_mm = decentration_up(b_mm=place.b_mm, fitting_height_mm=lens.height.mean)
    except DomainError:
        return None  # a lens without power in some direction has no such point, or many; nor has one of no distance
    return inward(eye=lens.eye, x=settled(in_mm)), settled(up_mm)


def _turn(piece: _Old) -> float:
    """How far the lens must be turned for its axis to be as ordered; 0 without a cylinder."""
    return _turn_to(piece, None if piece.lens.ordered.optics is None else piece.lens.ordered.optics.minus)


def _turn_to(piece: _Old, wanted: SpheroCylinder | None) -> float:
    power = piece.lens.measured.power
    if power is None or wanted is None or power.lens.axis_deg is None or wanted.axis_deg is None:
        return 0.0
    return deviation_of_axis(ordered_deg=power.lens.axis_deg, measured_deg=wanted.axis_deg)


def _cut_again(pieces: Sequence[_Old], order: OrderFacts, margin: float) -> Iterator[Way]:
    """Both lenses into a smaller frame of the same proportions: the frame is that of the lens that allows less."""
    frame = _largest([(piece, piece.place, _turn(piece)) for piece in pieces], order, margin)
    if frame is not None:
        for piece in pieces:
            modelled = piece.place.outline is None
            yield Way("re-edge", piece.lens.eye, frame, turn_deg=settled(_turn(piece)), modelled=modelled)


def _largest(cuts: Sequence[tuple[_Old, EyePlace, float]], order: OrderFacts, margin: float) -> Frame | None:
    """The largest frame in which every lens can be cut for its place, after its turn.

    With the same DBL the nasal edge stays as far from the pupil as it was, and there is nothing to grind off there. Wider
    bridges are therefore tried too.
    """
    found = (_with_dbl(cuts, order, order.frame.dbl_mm + wider, margin) for wider in _WIDER_BRIDGES_MM)
    return max((frame for frame in found if frame is not None), key=lambda frame: frame.a_mm, default=None)


def _with_dbl(
    cuts: Sequence[tuple[_Old, EyePlace, float]], order: OrderFacts, dbl_mm: float, margin: float
) -> Frame | None:
    sizes = []
    for piece, target, turn_deg in cuts:
        size = largest_re_edge(
            shape_points(target, order.frame),
            piece.points,
            eye=target.eye,
            centre_x_mm=piece.x_mm,
            centre_y_mm=piece.y_mm,
            pd_mm=target.pd_mm,
            dbl_mm=dbl_mm,
            up_mm=target.up_taken_mm,
            turn_deg=turn_deg,
            margin_mm=margin,
        )
        if size is None:
            return None
        sizes.append(size)
    smallest = min(sizes, key=lambda size: size.scale)
    return Frame(settled(smallest.a_mm), settled(smallest.b_mm), dbl_mm)


def _turned(facts: InspectionFacts, order: OrderFacts, spoilt: Collection[EyeName], margin: float) -> Iterator[Way]:
    """A lens that was put in upside down, after half a turn about the point at which its prism was read: the pupil's place.

    `spoilt` are those that half a turn does not mend.
    """
    if facts.pair is None:
        return
    for cause in facts.causes:
        if cause.code != "lens-upside-down" or cause.explains != "all" or cause.eye is None:
            continue
        lens = facts.pair.right if cause.eye == "right" else facts.pair.left
        if lens.place is None or lens.use in NEEDS_ADD or lens.eye in spoilt:
            continue
        points = shape_points(lens.place, order.frame)
        piece = _Old(lens, lens.place, points, inward(eye=lens.eye, x=lens.place.in_mm), lens.place.up_taken_mm)
        frame = _largest([(piece, lens.place, 180.0)], order, margin)
        if frame is not None:
            yield Way("turn", lens.eye, frame, turn_deg=180.0, modelled=lens.place.outline is None)


def _exchanged(facts: InspectionFacts, order: OrderFacts, margin: float) -> Iterator[Way]:
    """Lenses that sit on the wrong sides, each cut again for the other, where it is to have the prism ordered there."""
    swapped = any(cause.code == "lenses-swapped" and cause.explains == "all" for cause in facts.causes)
    if not swapped or facts.pair is None or facts.pair.right.use in NEEDS_ADD:
        return
    cuts = []
    for lens, other in ((facts.pair.right, facts.pair.left), (facts.pair.left, facts.pair.right)):
        piece, wanted = _old(lens, order, other.ordered.prism), other.ordered.optics
        if piece is None or other.place is None:
            return
        cuts.append((piece, other.place, _turn_to(piece, None if wanted is None else wanted.minus)))
    frame = _largest(cuts, order, margin)
    if frame is not None:
        yield Way("exchange", None, frame, modelled=any(piece.place.outline is None for piece, _, _ in cuts))


def _in_other_orders(
    piece: _Old, order: OrderFacts, open_orders: Sequence[OpenOrder], facts: InspectionFacts, margin: float
) -> Iterator[Way]:
    """Open orders of the same material, without reading part and prism, whose lens this could be."""
    power = piece.lens.measured.power
    for one in open_orders:
        other = one.facts
        if other is None or power is None or other.lens.use in NEEDS_ADD or other.material != order.material:
            continue
        for place in other.places:
            wanted = other.cut.of(place.eye)
            if wanted.optics is None or wanted.prism is not None:
                continue
            turn = _turn_to(piece, wanted.optics.minus)
            if not _power_does(wanted.optics.minus, power.lens, turn, facts.standard):
                continue
            turned = _cut_for(piece, place, other, turn, margin)
            if turned is not None:
                modelled = place.outline is None or piece.place.outline is None
                yield Way(
                    "other-order",
                    piece.lens.eye,
                    turn_deg=settled(turned),
                    open_order=one,
                    for_eye=place.eye,
                    modelled=modelled,
                )


def _power_does(wanted: SpheroCylinder, lens: SpheroCylinder, turn_deg: float, standard: str) -> bool:
    """Whether the lens, turned to the axis that is wanted, keeps to every limit."""
    axis = None if lens.axis_deg is None else lens.axis_deg + turn_deg
    turned = SpheroCylinder(lens.sphere_d, lens.cylinder_d, axis)
    compared = power_comparisons(standard=standard, lens="single_vision", ordered=wanted, measured=turned)
    return all(one.within is not False for one in compared)


def _cut_for(piece: _Old, place: EyePlace, other: OrderFacts, turn_deg: float, margin: float) -> float | None:
    """By how much the lens is to be turned for that of another order to be cut from it, either way up; None if it cannot."""
    pupil = (inward(eye=place.eye, x=place.in_mm), place.up_taken_mm)
    about_pupil = shape_points(place, other.frame) - pupil
    for turn in (turn_deg, turn_deg - 180.0 if turn_deg > 0 else turn_deg + 180.0):
        if fits_within(
            about_pupil,
            piece.points,
            shift_x_mm=piece.x_mm,
            shift_y_mm=piece.y_mm,
            turn_deg=-turn,
            margin_mm=margin,
        ):
            return turn
    return None
