"""From facts to the contract's answer. Figures are rounded here, for display, and nowhere else."""

from optics_core.sphero_cylinder import SpheroCylinder as CorePower
from service.answers_prescribed import prescribed_prism
from service.contract.answer import (
    EyePrism,
    EyeReading,
    EyeVertex,
    FigureSpan,
    GazePrism,
    Meridian,
    PairPrism,
    PdReading,
    PowerVector,
    PrescriptionReading,
    PrismAnswer,
    PrismBase,
    ReadingLevel,
    SpheroCylinder,
    VertexAnswer,
)
from service.contract.order import StructuredPrescription
from service.contract.placement import Shift
from service.facts import EyePlace, OrderFacts, VertexChange
from service.facts_prescription import EyePower, PrescriptionFacts
from service.notation import line, power, rounded_line
from service.reading.written import Written
from service.rounding import for_display


def prescription(facts: PrescriptionFacts) -> PrescriptionReading:
    """The prescription as it was understood."""
    return PrescriptionReading(_reading(facts.right), _reading(facts.left))


def read_as(facts: PrescriptionFacts, written: StructuredPrescription | None) -> str | None:
    """The canonical line of both eyes in minus cylinder, or None where an eye cannot be relied on."""
    parts = []
    for letter, eye in (("R", facts.right), ("L", facts.left)):
        if eye.optics is None or written is None:
            return None
        minus = eye.optics.minus
        add = "" if eye.add_d is None else f" add {power(eye.add_d)}"
        given = written.right if letter == "R" else written.left
        prism = "".join(f" prism {part.amount:g} base {_base(part.base)}" for part in given.prism if part.amount > 0)
        parts.append(f"{letter} {line(minus.sphere_d, minus.cylinder_d, minus.axis_deg)}{add}{prism}")
    return "  ".join(parts)


def pd(written: Written | None) -> PdReading | None:
    """The PD that stands in a text."""
    if written is None or written.pd is None:
        return None
    return PdReading(written.pd.right, written.pd.left, written.pd.both, written.pd.near)


def spans(written: Written | None) -> list[FigureSpan]:
    """Where each figure stands in a text."""
    if written is None:
        return []
    return [FigureSpan(pointer, start, end) for pointer, (start, end) in sorted(written.spans.items())]


def prism(facts: OrderFacts) -> PrismAnswer:
    """Prism that the pair will have and the prescription does not ask for."""
    eyes = {place.eye: _prism(place) for place in facts.places}
    pair, standard = facts.pair, facts.prism_limits
    reading = facts.reading
    return PrismAnswer(
        right=eyes.get("right"),
        left=eyes.get("left"),
        pair=None
        if pair is None
        else PairPrism(
            horizontal=for_display(pair.horizontal_pd),
            horizontal_limit=standard.horizontal_pd,
            centres_off_pd_mm=for_display(pair.centres_off_pd_mm),
            centres_off_pd_limit_mm=standard.horizontal_mm,
            vertical=for_display(pair.vertical_pd) if pair.vertical_known else None,
            vertical_limit=standard.vertical_pd,
            centres_off_height_mm=for_display(pair.centres_off_height_mm) if pair.vertical_known else None,
            centres_off_height_limit_mm=standard.vertical_mm,
            standard=standard.standard,
        ),
        reading_level=None if reading is None else ReadingLevel(for_display(reading.amount_pd), reading.level_mm),
        across=[
            GazePrism(one.gaze, one.away_mm, for_display(one.horizontal_pd), for_display(one.vertical_pd))
            for one in facts.gaze
        ],
        prescribed=prescribed_prism(facts.prescribed),
    )


def vertex(facts: OrderFacts) -> VertexAnswer | None:
    """The powers for the vertex distance as worn, where it differs from that of the refraction."""
    refracted, worn = facts.rx.vertex_refracted_mm, facts.vertex_worn_mm
    if refracted is None or worn is None or not facts.vertex_changes:
        return None
    eyes = {change.eye: _vertex(change) for change in facts.vertex_changes}
    return VertexAnswer(refracted, worn, eyes.get("right"), eyes.get("left"))


def _reading(eye: EyePower) -> EyeReading:
    optics = eye.optics
    notation = line(eye.sphere_d, eye.cylinder_d, eye.axis_given)
    add = eye.add_d
    prescribed = (
        None if eye.prism is None else PrismBase(for_display(eye.prism_amount_pd), for_display(eye.prism_base_deg))
    )
    if optics is None:
        return EyeReading(notation, None, None, None, None, None, add, prescribed)
    vector = optics.vector
    return EyeReading(
        notation=notation,
        minus_cylinder=_power(optics.minus),
        plus_cylinder=_power(optics.plus),
        spherical_equivalent=for_display(vector.m_d),
        power_vector=PowerVector(for_display(vector.m_d), for_display(vector.j0_d), for_display(vector.j45_d)),
        meridians=[Meridian(axis, for_display(along)) for axis, along in optics.meridians],
        add=add,
        prism=prescribed,
    )


def _power(core: CorePower) -> SpheroCylinder:
    return SpheroCylinder(for_display(core.sphere_d), for_display(core.cylinder_d), core.axis_deg)


def _base(base: str | float) -> str:
    return base if isinstance(base, str) else f"{base:g}"


def _prism(place: EyePlace) -> EyePrism | None:
    found = place.pupil_prism
    if found is None:
        return None
    up = None if place.up_mm is None else for_display(found.shift.up_mm)
    return EyePrism(
        shift_mm=Shift(for_display(found.shift.in_mm), up),
        distance_mm=for_display(found.shift.distance_mm),
        horizontal=for_display(found.horizontal_in_pd),
        vertical=None if place.up_mm is None else for_display(found.prism.y_pd),
    )


def _vertex(change: VertexChange) -> EyeVertex:
    core = change.compensated
    return EyeVertex(
        notation=rounded_line(core.sphere_d, core.cylinder_d, core.axis_deg),
        compensated=_power(core),
        change=for_display(change.change_d),
    )
