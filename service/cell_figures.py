"""Which figures a cell can ask for: their words, and where each stands in the answer of a check.

Nothing is worked out here. An order is made of the words in the address, checked as every order is, and the figure is read
off the answer. What a figure does not depend on is filled with an ordinary pair, and both eyes with the same figures.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from service.cell_parameters import Fault, Parameter, Values, choice, number
from service.cell_words import B_FOR_HEIGHT, DBL, ED, EYE, EYES, HEIGHT, PAIR, PD, POWER, POWER_PART, A, B
from service.checking import Checked
from service.contract.answer import SpheroCylinder
from service.contract.order import AsWorn, CentreOffset, Lens, StructuredPrescription
from service.facts_place import prism_of_shift
from service.notation import line
from service.rounding import for_display
from service.values import EyeName


class NoFigureError(Exception):
    """There is no such figure of this lens; `fault` says why and what to do."""

    def __init__(self, parameter: str, code: str, message: str) -> None:
        super().__init__(message)
        self.fault = Fault(parameter, code, message)


@dataclass(frozen=True, slots=True)
class Got:
    """A figure or a line as the cell shows it, and what it means.

    `rests_on` holds the members whose defaults, where they were taken, belong to its meaning.
    """

    value: float | str
    meaning: str
    unit: str = ""
    rests_on: tuple[str, ...] = ()


Work = Callable[[Checked, Values, EyeName], Got]


@dataclass(frozen=True, slots=True)
class Figure:
    """One address. `asks` names the words that a word, or a choice made by it, cannot do without.

    `is_about` holds codes of findings that say what the figure itself says, so that they do not keep it from being shown.
    """

    name: str
    title: str
    about: str
    parameters: tuple[Parameter, ...]
    work: Work
    asks: tuple[tuple[str, str | None, tuple[str, ...]], ...] = ()
    is_about: frozenset[str] = frozenset()
    of_pair: bool = False

    def parameter(self, name: str) -> Parameter:
        """The word of that name."""
        return next(one for one in self.parameters if one.name == name)


def _part(value: SpheroCylinder, shown: str, wanted: str, what: str) -> Got:
    """A power as one line, or one of its figures."""
    if wanted == "line":
        return Got(shown, f"{what}: sphere, cylinder and axis")
    if wanted == "axis" and value.axis is None:
        message = "A lens without cylinder was read, which has no axis. Ask for another `part`."
        raise NoFigureError("part", "no-axis", message)
    if wanted == "axis":
        return Got(value.axis or 0.0, f"{what}: its axis", "°")
    figure, word = (value.sphere, "sphere") if wanted == "sph" else (value.cylinder, "cylinder")
    return Got(figure, f"{what}: its {word}", "D")


def _reading(checked: Checked, eye: EyeName) -> Any:
    prescription = checked.answer.prescription
    return None if prescription is None else getattr(prescription, eye)


def _fit(checked: Checked, eye: EyeName) -> Any:
    fit = checked.answer.fit
    return None if fit is None else getattr(fit, eye)


def _spherical_equivalent(checked: Checked, _: Values, eye: EyeName) -> Got:
    value = _reading(checked, eye).spherical_equivalent
    return Got(value, "the spherical equivalent, sphere and half the cylinder", "D")


def _transposed(checked: Checked, values: Values, eye: EyeName) -> Got:
    reading = _reading(checked, eye)
    form = values.get("form", "other")
    if form == "other":
        form = "plus" if float(values.get("cyl", 0.0)) < 0 else "minus"
    power = reading.plus_cylinder if form == "plus" else reading.minus_cylinder
    shown = line(power.sphere, power.cylinder, power.axis)
    return _part(power, shown, str(values.get("part", "line")), f"the same lens in {form} cylinder")


def _decentration(checked: Checked, values: Values, eye: EyeName) -> Got:
    shift = _fit(checked, eye).decentration_mm
    if values.get("part", "in") == "in":
        return Got(shift.in_, "from the boxed centre in to the pupil; negative is out", "mm")
    return Got(shift.up, "from the boxed centre up to the pupil; negative is down", "mm")


_UNKNOWN_ED: Final = "; no ED was given, so the diagonal of the box stands in its place"
_RESTS_ON: Final = ("/fitting_height_mm/right", "/fitting_height_mm/left", "/frame/ed_mm")
_WHICH: Final = {
    "at_most": "the least diameter of a round blank that is enough for every lens shape with these boxed sizes",
    "expected": "the least diameter of a round blank for a usual lens shape with these boxed sizes",
    "at_least": "the diameter below which no lens shape with these boxed sizes can be cut",
}


def _least_blank(checked: Checked, values: Values, eye: EyeName) -> Got:
    blank = _fit(checked, eye).minimum_blank_mm
    which = str(values.get("which", "at_most"))
    taken = _UNKNOWN_ED if which == "at_most" and "ed" not in values else ""
    meaning = f"{_WHICH[which]}, with an allowance of {blank.allowance_mm:g} mm{taken}"
    return Got(getattr(blank, which), meaning, "mm", _RESTS_ON if which == "expected" else _RESTS_ON[:2])


def _margin(checked: Checked, values: Values, eye: EyeName) -> Got:
    meaning = "what this blank has beyond the diameter that is enough for every lens shape with these boxed sizes"
    taken = "" if "ed" in values else _UNKNOWN_ED
    return Got(_fit(checked, eye).margin_mm, f"{meaning}{taken}", "mm", _RESTS_ON[:2])


def _decision(checked: Checked, _: Values, __: EyeName) -> Got:
    found = sum(one.severity != "note" for one in checked.answer.findings)
    return Got(
        checked.answer.decision,
        "nothing was found that a person must look at"
        if found == 0
        else f"{found} {'finding has' if found == 1 else 'findings have'} to be looked at",
    )


def _vertex_power(checked: Checked, values: Values, eye: EyeName) -> Got:
    part, what = str(values.get("part", "line")), f"the power with the same effect at {values['to_vd']:g} mm"
    if values["from_vd"] == values["to_vd"]:
        cylinder, axis = float(values.get("cyl", 0.0)), values.get("axis") if values.get("cyl") else None
        same = SpheroCylinder(float(values["sph"]), cylinder, None if axis is None else float(axis))
        return _part(same, line(same.sphere, same.cylinder, same.axis), part, what)
    vertex = checked.answer.vertex
    if vertex is None:
        raise NoFigureError("to_vd", "beyond-focus", BEYOND_FOCUS)
    moved = getattr(vertex, eye)
    return _part(moved.compensated, moved.notation, part, what)


BEYOND_FOCUS: Final = (
    "A lens that would have to stand behind its own focus was read. Check the power and both vertex distances."
)


def _prism(checked: Checked, values: Values, eye: EyeName) -> Got:
    assert checked.facts is not None
    found = prism_of_shift(checked.facts.rx.of(eye), float(values.get("in", 0.0)), float(values.get("up", 0.0)))
    assert found is not None
    part = values.get("part", "horizontal")
    if part == "horizontal":
        return Got(for_display(found.horizontal_in_pd), "horizontal prism at the pupil; base in is positive", "Δ")
    if part == "vertical":
        return Got(for_display(found.prism.y_pd), "vertical prism at the pupil; base up is positive", "Δ")
    return Got(for_display(found.amount_pd), "prism at the pupil, whatever its direction", "Δ")


FIGURES: Final = (
    Figure(
        "spherical-equivalent", "Spherical equivalent", "Sphere and half the cylinder, in D.",
        (*POWER, EYE), _spherical_equivalent,
    ),
    Figure(
        "transposed", "The same lens in the other cylinder form", "A line such as `-3.00 +0.75 x 100`, or one of its figures.",
        (
            *POWER,
            EYE,
            choice("form", "Which form; left out: the other one.", ("other", "minus", "plus")),
            POWER_PART,
        ),
        _transposed,
    ),
    Figure(
        "decentration", "From the boxed centre to the pupil", "Inwards, or upwards with `part=up`, in mm; outwards and "
        "downwards are negative.",
        (PD, A, DBL, B_FOR_HEIGHT, HEIGHT, EYE, choice("part", "Which way; left out: in.", ("in", "up"))),
        _decentration,
        asks=(("height", None, ("b",)), ("part", "up", ("height", "b"))),
    ),
    Figure(
        "least-blank", "Least diameter of the blank", "In mm, allowance included. `at_most` is enough for every lens shape "
        "with these boxed sizes, no shape can do with less than `at_least`, and `expected` is for a usual shape.",
        (
            PD, A, B, DBL, ED, HEIGHT, EYE,
            choice("which", "Which bound; left out: at_most.", ("at_most", "expected", "at_least")),
        ),
        _least_blank,
    ),
    Figure(
        "margin", "What the blank has to spare", "In mm, on the diameter: the blank less what is enough for every lens shape "
        "with these boxed sizes. A negative margin does not say that the blank will not do; ask least-blank with "
        "`which=at_least` for that.",
        (
            PD, A, B, DBL, ED, HEIGHT,
            number(
                "blank", "Diameter of the round blank.", Lens, "blank_diameter_mm", "/lens/blank_diameter_mm", required=True
            ),
            EYE,
        ),
        _margin,
        is_about=frozenset({"blank-too-small"}),
    ),
    Figure(
        "decision", "Decision on an order", "accept, review or reject, as `POST /v1/orders/check` decides on the same order. "
        "What has no word here (traces, segments, overrides of the profile) has to be checked there.",
        PAIR, _decision, of_pair=True,
        asks=tuple(
            (f"{eye}{word}{ending}", None, (f"{eye}{other}{ending}", *((f"{eye}prism",) if ending else ())))
            for eye in "rl" for ending in ("", "2") for word, other in (("prism", "base"), ("base", "prism"))
        ),
    ),
    Figure(
        "vertex-power", "Power for another vertex distance", "The power that has the same effect at `to_vd`: a line rounded "
        "to two decimals, or one of its figures. Nothing is changed in the prescription.",
        (
            *POWER,
            number(
                "from_vd", "Vertex distance of the refraction.", StructuredPrescription, "vertex_distance_mm",
                "/prescription/vertex_distance_mm", required=True,
            ),
            number(
                "to_vd", "Vertex distance as worn.", AsWorn, "vertex_distance_mm", "/as_worn/vertex_distance_mm",
                required=True,
            ),
            EYE, POWER_PART,
        ),
        _vertex_power,
    ),
    Figure(
        "prism", "Prism by decentration", "Prism at the pupil in Δ where the optical centre lies `in` towards the nose and "
        "`up` from it; base in and base up are positive.",
        (
            *POWER,
            choice("eye", "Which eye it is for.", EYES, required=True),
            number("in", "Optical centre from the pupil, towards the nose; left out: 0.", CentreOffset, "in_"),
            number("up", "Optical centre from the pupil, upwards; left out: 0.", CentreOffset, "up"),
            choice("part", "Which part; left out: horizontal.", ("horizontal", "vertical", "amount")),
        ),
        _prism,
    ),
)  # fmt: skip
FIGURE_OF: Final = {figure.name: figure for figure in FIGURES}
