"""Orders as JSON documents for the property tests: ordinary ones, wild ones, and what can be done to them.

Orders are drawn as the documents a shop would send, so that the tests go through the published contract. The day is
always named: nothing here depends on the calendar.
"""

import copy
from datetime import date
from functools import cache
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order
from service.profile.loader import Limits, load

Document = dict[str, Any]
AS_OF = date(2026, 11, 25)
EYES = ("right", "left")
OTHER = {"right": "left", "left": "right"}
GRAVITY = {"reject": 2, "review": 1, "accept": 0, "note": 0}


def steady(max_examples: int) -> settings:
    """Always the same draws, no clock in the verdict."""
    return settings(
        derandomize=True,
        database=None,
        deadline=None,
        max_examples=max_examples,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
    )


@cache
def shipped() -> Limits:
    return load(None)


def answer_to(document: Document) -> CheckAnswer:
    """The answer of the service, with its shipped profile."""
    return check(Order.model_validate(document), shipped(), AS_OF)


def changed(document: Document, pointer: str, value: object) -> Document:
    """A copy with one member set, the objects around it made where they are lacking."""
    result = copy.deepcopy(document)
    *parents, last = pointer.removeprefix("/").split("/")
    node = result
    for part in parents:
        node = node.setdefault(part, {})
    node[last] = value
    return result


def without(document: Document, pointer: str) -> Document:
    """A copy that lacks one member."""
    result = copy.deepcopy(document)
    *parents, last = pointer.removeprefix("/").split("/")
    node = result
    for part in parents:
        node = node[part]
    node.pop(last, None)
    return result


# Figures.

# Quarters mostly; an eighth is exact in binary too, so that sums of these figures are exact.
spheres = st.one_of(st.integers(-64, 40).map(lambda n: n / 4), st.integers(-128, 80).map(lambda n: n / 8))
cylinders = st.one_of(st.integers(-28, 28).map(lambda n: n / 4), st.integers(-24, 24).map(lambda n: n / 8))
axes = st.one_of(st.sampled_from([0, 1, 45, 90, 91, 135, 179, 180]), st.integers(0, 180))
adds = st.sampled_from([0.5, 0.75, 1.0, 1.5, 2.25, 3.0, 3.5, 4.0])
bases = st.one_of(st.sampled_from(["in", "out", "up", "down"]), st.integers(0, 360))
prisms = st.fixed_dictionaries({"amount": st.integers(0, 48).map(lambda n: n / 4), "base": bases})
days = st.dates(date(2023, 1, 1), date(2027, 12, 31)).map(date.isoformat)
materials = st.sampled_from(["hard-resin-1.50", "polycarbonate", "thiourethane-1.67", "crown-glass", "unheard-of"])
uses = st.sampled_from(["distance", "distance", "intermediate", "near", "bifocal", "trifocal", "progressive"])


def tenths(least: float, most: float) -> st.SearchStrategy[float]:
    return st.integers(round(least * 10), round(most * 10)).map(lambda n: n / 10)


@st.composite
def prescribed_eyes(draw: st.DrawFn) -> Document:
    """An eye that can be written in either form: a cylinder has its axis."""
    eye: Document = {"sphere": draw(spheres)}
    cylinder = draw(st.one_of(st.none(), cylinders, cylinders))
    if cylinder is not None:
        eye["cylinder"] = cylinder
        if cylinder != 0 or draw(st.booleans()):
            eye["axis"] = draw(axes)
    if draw(st.integers(0, 3)) == 0:
        eye["add"] = draw(adds)
    if draw(st.integers(0, 5)) == 0:
        eye["prism"] = draw(st.lists(prisms, min_size=1, max_size=3))
    return eye


@st.composite
def pupil_distances(draw: st.DrawFn) -> Document:
    kind = draw(st.sampled_from(["both", "halves", "halves", "all", "right-and-both", "left-and-both", "right"]))
    right, left = draw(tenths(26, 38)), draw(tenths(26, 38))
    pd: Document = {}
    if kind in ("halves", "all", "right-and-both", "right"):
        pd["right"] = right
    if kind in ("halves", "all", "left-and-both"):
        pd["left"] = left
    if kind in ("both", "all", "right-and-both", "left-and-both"):
        pd["both"] = draw(st.one_of(st.just(right + left), tenths(36, 78)))
    if draw(st.integers(0, 4)) == 0:
        near = draw(
            st.sampled_from([{"both": right + left - 3}, {"right": right, "left": left}, {"both": right + left}])
        )
        pd["near"] = near
    return pd


@st.composite
def frames(draw: st.DrawFn) -> Document:
    """Boxed sizes with an ED that some shape can have, or none."""
    a = draw(tenths(36, 64))
    b = draw(tenths(20, 56))
    frame: Document = {"a_mm": a, "b_mm": b, "dbl_mm": draw(tenths(10, 28))}
    if draw(st.booleans()):
        share = draw(st.sampled_from([0.0, 0.05, 0.2, 0.5, 1.0]))
        least, most = max(a, b), (a * a + b * b) ** 0.5
        frame["ed_mm"] = min(least + share * (most - least), most)
    if draw(st.booleans()):
        frame["rim"] = draw(st.sampled_from(["full", "grooved", "drilled"]))
    return frame


@st.composite
def orders(draw: st.DrawFn) -> Document:
    """Readable orders as shops send them, from ordinary to odd."""
    frame = draw(frames())
    prescription: Document = {eye: draw(prescribed_eyes()) for eye in EYES}
    for name, values in (("vertex_distance_mm", tenths(5, 20)), ("issued_on", days), ("expires_on", days)):
        if draw(st.booleans()):
            prescription[name] = draw(values)
    order: Document = {
        "prescription": prescription,
        "pd_mm": draw(pupil_distances()),
        "frame": frame,
        "as_of": AS_OF.isoformat(),
    }
    optional = {
        "reference": st.text(st.characters(codec="utf-8"), max_size=12),
        "fitting_height_mm": _some_of({eye: tenths(4, frame["b_mm"] - 2) for eye in EYES}),
        "lens": _some_of({"material": materials, "use": uses, "blank_diameter_mm": tenths(45, 90)}),
        "as_worn": _some_of({"vertex_distance_mm": tenths(5, 20)}),
        "wearer": _some_of({"age_years": st.integers(0, 90), "useful_eyes": st.sampled_from(["both", *EYES])}),
    }
    for name, values in optional.items():
        if draw(st.integers(0, 3)):
            order[name] = draw(values)
    return order


@st.composite
def wild_orders(draw: st.DrawFn) -> Document:
    """Whatever the published schema allows, its bounds and noughts above all, cylinders without axes included."""
    order = draw(orders())
    wild = {
        "/frame/a_mm": _between(10, 120),
        "/frame/b_mm": _between(5, 120),
        "/frame/dbl_mm": _between(0, 60),
        "/frame/ed_mm": _between(5, 170),
        "/pd_mm/right": _between(1, 200),
        "/pd_mm/left": _between(1, 200),
        "/pd_mm/both": _between(1, 200),
        "/fitting_height_mm/right": _between(0, 120),
        "/lens/blank_diameter_mm": _between(20, 120),
        "/as_worn/vertex_distance_mm": _between(0, 40),
        "/prescription/vertex_distance_mm": _between(0, 40),
        "/prescription/right/sphere": _between(-1000, 1000),
        "/prescription/left/cylinder": _between(-1000, 1000),
        "/prescription/left/axis": _between(-1000, 1000),
        "/prescription/right/add": _between(-100, 100),
        "/prescription/left/prism": st.lists(
            st.fixed_dictionaries({"amount": _between(0, 100), "base": st.one_of(bases, _between(0, 360))}), max_size=4
        ),
        "/wearer/age_years": _between(0, 130),
    }
    for pointer in draw(st.lists(st.sampled_from(sorted(wild)), min_size=1, max_size=6, unique=True)):
        order = changed(order, pointer, draw(wild[pointer]))
    if draw(st.integers(0, 4)) == 0:
        order = without(order, draw(st.sampled_from(["/prescription/right/axis", "/prescription/left/cylinder"])))
    return order


def _between(least: float, most: float) -> st.SearchStrategy[float]:
    edges = [least, most, *(value for value in (0.0, 1e-9, 5e-324) if least <= value <= most)]
    return st.one_of(st.sampled_from(edges), st.floats(least, most), st.floats(least, most))


@st.composite
def _some_of(draw: st.DrawFn, members: dict[str, st.SearchStrategy[Any]]) -> Document:
    return {name: draw(values) for name, values in members.items() if draw(st.booleans())}


def mirrored(document: Document) -> Document:
    """The order of the wearer in a mirror: right and left exchanged, axes and oblique bases turned over."""
    result = copy.deepcopy(document)
    rx = result["prescription"]
    rx["right"], rx["left"] = _mirrored_eye(rx["left"]), _mirrored_eye(rx["right"])
    pd = result["pd_mm"]
    for pair in (pd, pd.get("near", {}), result.get("fitting_height_mm", {})):
        exchanged = {OTHER.get(name, name): value for name, value in pair.items()}
        pair.clear()
        pair.update(exchanged)
    wearer = result.get("wearer", {})
    if "useful_eyes" in wearer:
        wearer["useful_eyes"] = OTHER.get(wearer["useful_eyes"], "both")
    return result


def _mirrored_eye(eye: Document) -> Document:
    result = dict(eye)
    if "axis" in eye:
        # 0 and 180 are one meridian and stay as they are written.
        result["axis"] = eye["axis"] if eye["axis"] in (0, 180) else 180 - eye["axis"]
    if "prism" in eye:
        result["prism"] = [
            {**part, "base": part["base"] if isinstance(part["base"], str) else (180 - part["base"]) % 360}
            for part in eye["prism"]
        ]
    return result


def transposed(eye: Document) -> Document:
    """The same lens in the other cylinder form."""
    cylinder = eye.get("cylinder", 0)
    if cylinder == 0:
        return dict(eye)
    axis = eye["axis"]
    return {
        **eye,
        "sphere": eye["sphere"] + cylinder,
        "cylinder": -cylinder,
        "axis": axis + 90 if axis <= 90 else axis - 90,
    }
