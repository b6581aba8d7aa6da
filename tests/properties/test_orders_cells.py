"""A cell says what the check says of the same order, and shows no figure where the check rejects what it rests on."""

import math
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from order_strategies import (
    AS_OF,
    Document,
    _between,
    answer_to,
    axes,
    cylinders,
    orders,
    shipped,
    spheres,
    steady,
    tenths,
    wild_orders,
)

from service.cells import FIGURE_OF, Cell, cell

EYE = st.sampled_from(["right", "left"])
# What is rejected because of the very thing that the figure says.
SAID_BY_THE_FIGURE = {"blank-too-small"}


def shown(name: str, words: dict[str, Any]) -> Cell:
    """The cell of a figure; what is None is an empty cell of the sheet."""
    pairs = [(word, "" if value is None else _text(value)) for word, value in words.items()]
    return cell(FIGURE_OF[name], pairs, shipped(), AS_OF)


def _text(value: object) -> str:
    return f"{value:.9f}" if isinstance(value, float) else str(value)


def in_words(document: Document) -> tuple[dict[str, Any], Document]:
    """An order in the words of the decision, and the part of it that these words can say."""
    eyes = {
        "r": ("right", document["prescription"]["right"]),
        "l": ("left", document["prescription"]["left"]),
    }
    words: dict[str, Any] = {}
    said: Document = {"prescription": {}, "pd_mm": {}, "frame": {}, "as_of": document["as_of"]}
    heights = document.get("fitting_height_mm", {})
    for letter, (eye, power) in eyes.items():
        at = said["prescription"].setdefault(eye, {})
        for word, member in (("sph", "sphere"), ("cyl", "cylinder"), ("axis", "axis"), ("add", "add")):
            if member in power:
                at[member] = words[letter + word] = _sent(power[member])
        for ending, part in zip(("", "2"), power.get("prism", []), strict=False):
            amount, base = _sent(part["amount"]), part["base"] if isinstance(part["base"], str) else _sent(part["base"])
            words |= {f"{letter}prism{ending}": amount, f"{letter}base{ending}": base}
            at.setdefault("prism", []).append({"amount": amount, "base": base})
        if eye in heights:
            words[f"{letter}height"] = _sent(heights[eye])
            said.setdefault("fitting_height_mm", {})[eye] = words[f"{letter}height"]
    for word, section, member in (
        ("rpd", "pd_mm", "right"), ("lpd", "pd_mm", "left"), ("pd", "pd_mm", "both"),
        ("a", "frame", "a_mm"), ("b", "frame", "b_mm"), ("dbl", "frame", "dbl_mm"), ("ed", "frame", "ed_mm"),
        ("rim", "frame", "rim"), ("material", "lens", "material"), ("use", "lens", "use"),
        ("blank", "lens", "blank_diameter_mm"), ("vd", "prescription", "vertex_distance_mm"),
        ("worn_vd", "as_worn", "vertex_distance_mm"), ("age", "wearer", "age_years"), ("eyes", "wearer", "useful_eyes"),
        ("issued", "prescription", "issued_on"), ("expires", "prescription", "expires_on"),
    ):  # fmt: skip
        if member in document.get(section, {}):
            value = document[section][member]
            said.setdefault(section, {})[member] = words[word] = value if isinstance(value, str) else _sent(value)
    return {**words, "as_of": document["as_of"]}, said


def _sent(value: float) -> float:
    """The figure as nine decimals can say it."""
    return float(f"{value:.9f}")


@steady(150)
@given(orders())
def test_the_decision_in_a_cell_is_that_of_the_check(order: Document) -> None:
    words, said = in_words(order)
    answer = answer_to(said)
    found = shown("decision", words)
    assert (found.value, found.decision) == (answer.decision, answer.decision)
    assert list(found.findings) == answer.findings
    for finding in answer.findings:
        assert (finding.message in found.words) or finding.severity == "note"


@steady(150)
@given(wild_orders())
def test_the_decision_of_any_order_that_words_can_say_is_that_of_the_check(order: Document) -> None:
    words, said = in_words(order)
    found = shown("decision", words)
    assert (found.value, found.decision) == ((decision := answer_to(said).decision), decision)


powers = st.fixed_dictionaries(
    {
        "sph": st.one_of(spheres, _between(-1000, 1000)).map(_sent),
        "cyl": st.one_of(st.none(), cylinders, _between(-40, 40)).map(
            lambda value: value if value is None else _sent(value)
        ),
        "axis": st.one_of(st.none(), axes, _between(-400, 400)).map(
            lambda value: value if value is None else _sent(value)
        ),
    }
)


def with_power(power: dict[str, Any]) -> Document:
    """An ordinary order with this power before both eyes."""
    members = {"sph": "sphere", "cyl": "cylinder", "axis": "axis"}
    eye = {members[word]: value for word, value in power.items() if value is not None}
    return {
        "prescription": {"right": eye, "left": dict(eye)},
        "pd_mm": {"right": 32, "left": 32},
        "frame": {"a_mm": 52, "b_mm": 38, "dbl_mm": 17},
    }


def rejected_for_power(answer: Any) -> bool:
    return any(
        (one.severity == "reject" or one.code == "axis-without-cylinder") and one.pointer.startswith("/prescription")
        for one in answer.findings
    )


@steady(200)
@given(powers, EYE)
def test_a_power_that_the_check_rejects_gives_no_figure_and_any_other_the_check_s(
    power: dict[str, Any], eye: str
) -> None:
    answer = answer_to(with_power(power))
    words = {**power, "eye": eye}
    prism = shown("prism", {**words, "in": 2.0})
    mean, turned = shown("spherical-equivalent", words), shown("transposed", {**words, "part": "sph"})
    if rejected_for_power(answer):
        assert (mean.value, turned.value, prism.value) == (None, None, None)
        assert mean.faults
        return
    assert answer.prescription is not None
    reading = answer.prescription.right
    assert mean.value is not None
    assert float(mean.value) == reading.spherical_equivalent
    other = reading.plus_cylinder if (power["cyl"] or 0) < 0 else reading.minus_cylinder
    assert turned.value is not None
    assert other is not None
    assert float(turned.value) == other.sphere
    # Prentice's rule along the horizontal meridian: F = S + C sin^2(axis).
    sine = math.sin(math.radians(power["axis"] or 0))
    horizontal = power["sph"] + (power["cyl"] or 0) * sine * sine
    assert prism.value is not None
    assert abs(float(prism.value) - 0.2 * horizontal) < 1e-4


@steady(200)
@given(powers, st.integers(0, 40), st.integers(0, 40))
def test_a_power_for_another_vertex_distance_is_the_check_s(power: dict[str, Any], refracted: int, worn: int) -> None:
    words = {**power, "from_vd": refracted, "to_vd": worn}
    found = shown("vertex-power", {**words, "part": "sph"})
    if rejected_for_power(answer_to(with_power(power))):
        assert found.value is None
        return
    along = (power["sph"], power["sph"] + (power["cyl"] or 0))
    shift = (refracted - worn) / 1000
    if any(1 - shift * one <= 0 for one in along):
        assert found.value is None
        assert [fault.code for fault in found.faults] == ["beyond-focus"]
        return
    assert found.value is not None
    expected = power["sph"] / (1 - shift * power["sph"])
    assert abs(float(found.value) - expected) <= 1e-4 + 1e-6 * abs(expected)


sizes = st.fixed_dictionaries(
    {
        "pd": st.one_of(tenths(24, 46), _between(1, 200)).map(_sent),
        "a": st.one_of(tenths(36, 64), _between(10, 120)).map(_sent),
        "b": st.one_of(tenths(20, 56), _between(5, 120)).map(_sent),
        "dbl": tenths(10, 28),
        "ed": st.one_of(st.none(), tenths(40, 80)),
        "height": st.one_of(st.none(), tenths(0, 60)),
        "blank": tenths(45, 90),
    }
)


@steady(200)
@given(sizes, EYE)
def test_sizes_that_the_check_rejects_give_no_figure_and_any_others_the_check_s(size: dict[str, Any], eye: str) -> None:
    frame = {f"{word}_mm": size[word] for word in ("a", "b", "dbl", "ed") if size[word] is not None}
    order: Document = {
        "prescription": {"right": {"sphere": -1}, "left": {"sphere": -1}},
        "pd_mm": {"right": size["pd"], "left": size["pd"]},
        "frame": frame,
        "lens": {"blank_diameter_mm": size["blank"]},
    }
    if size["height"] is not None:
        order["fitting_height_mm"] = {"right": size["height"], "left": size["height"]}
    answer = answer_to(order)
    words = {**size, "eye": eye}
    margin = shown("margin", words)
    del words["blank"]
    needed = {which: shown("least-blank", {**words, "which": which}) for which in ("at_least", "expected", "at_most")}
    grave = {one.code for one in answer.findings if one.severity == "reject"} - SAID_BY_THE_FIGURE
    if grave:
        assert {one.value for one in (margin, *needed.values())} == {None}
        return
    assert answer.fit is not None
    fit = getattr(answer.fit, eye)
    assert margin.value is not None
    assert float(margin.value) == fit.margin_mm
    for which, one in needed.items():
        assert one.value is not None
        assert float(one.value) == getattr(fit.minimum_blank_mm, which)
    decentration = {word: value for word, value in words.items() if word != "ed"}
    across = shown("decentration", decentration)
    assert across.value is not None
    assert float(across.value) == fit.decentration_mm.in_
    above = shown("decentration", {**decentration, "part": "up"})
    if size["height"] is None:
        assert [fault.code for fault in above.faults] == ["parameter-missing"]
    else:
        assert above.value is not None
        assert float(above.value) == fit.decentration_mm.up
