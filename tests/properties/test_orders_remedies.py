"""A remedy that an answer offers really takes the finding away when the order is changed by it, and by nothing else."""

from collections.abc import Callable, Iterator
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st
from order_strategies import EYES, Document, answer_to, changed, orders, steady, wild_orders

from service.contract.answer import CheckAnswer, Finding, Remedy

# Bounds of the published schema: a remedy beyond them cannot be sent.
BOUNDS = {
    "/frame/a_mm": (10, 120),
    "/frame/b_mm": (5, 120),
    "/frame/dbl_mm": (0, 60),
    "/frame/ed_mm": (5, 170),
    "/lens/blank_diameter_mm": (20, 120),
    "/lens/centre_thickness_mm": (0.1, 40),
    "/as_worn/vertex_distance_mm": (0, 40),
    "/prescription/vertex_distance_mm": (0, 40),
    "/prescription/right/axis": (-1000, 1000),
    "/prescription/left/axis": (-1000, 1000),
    "/pd_mm/near/both": (1, 200),
}
CHOICES = ("/lens/material", "/lens/use", "/lens/blank_diameter_mm", "/lens/supply")


def offers(answer: CheckAnswer) -> Iterator[tuple[Finding, Remedy]]:
    for finding in answer.findings:
        for remedy in finding.remedies:
            yield finding, remedy


def applied(order: Document, remedy: Remedy, finding: Finding) -> Iterator[Document]:
    """The order changed by the remedy, at each bound that it names or to each value that it lists."""
    if remedy.pointer == "/frame/a_mm" and finding.code.startswith(("blank", "edge")):
        assert remedy.at_most is not None
        yield frame_of_width(order, remedy.at_most)
        return
    for value in (remedy.at_least, remedy.at_most):
        if value is not None:
            yield changed(order, remedy.pointer, value)
    for choice in remedy.one_of or ():
        yield changed(order, remedy.pointer, choice)


def frame_of_width(order: Document, width: float) -> Document:
    """A frame of the same proportions: B and ED go with A, and the pupil stays as high above the boxed centre."""
    frame = order["frame"]
    share = width / frame["a_mm"]
    smaller = {**frame, "a_mm": width, "b_mm": frame["b_mm"] * share}
    if "ed_mm" in frame:
        longest = hypot(smaller["a_mm"], smaller["b_mm"])
        smaller["ed_mm"] = min(max(frame["ed_mm"] * share, width, smaller["b_mm"]), longest)
    heights = {
        eye: height - frame["b_mm"] / 2 + smaller["b_mm"] / 2
        for eye, height in order.get("fitting_height_mm", {}).items()
    }
    return {**order, "frame": smaller, "fitting_height_mm": heights}


def remains(finding: Finding, answer: CheckAnswer) -> bool:
    return any(
        (one.code, one.eye, one.pointer) == (finding.code, finding.eye, finding.pointer) for one in answer.findings
    )


def is_within_bounds(order: Document) -> bool:
    for pointer, (least, most) in BOUNDS.items():
        section, member, *deeper = pointer.removeprefix("/").split("/")
        value = None if deeper else order.get(section, {}).get(member)
        if value is not None and not least <= value <= most:
            return False
    heights = order.get("fitting_height_mm", {})
    return all(0 <= heights.get(eye, 0) <= 120 for eye in EYES)


GROUPS: dict[str, Callable[[str], bool]] = {
    "the blank": lambda code: code.startswith("blank") or "prism" in code,
    "the pupil's place in the lens": lambda code: code.startswith("decentration"),
    "the frame": lambda code: code.startswith(("frame", "ed-", "fitting")),
    "the lens as a body": lambda code: code.startswith(
        ("edge", "centre", "lens-runs", "lens-body", "lens-crossed", "lens-thin", "stock-lens")
    ),
    "pupil distance, material and wearer": lambda code: code.startswith(
        ("pd", "material", "impact", "one-useful", "wearer")
    ),
    "prescription, use and vertex distance": lambda code: code.startswith(
        ("axis", "cylinder", "power", "sphere", "lens-use", "use", "near", "add", "vertex", "prescription")
    ),
}


@pytest.mark.parametrize("group", GROUPS)
def test_every_remedy_takes_its_finding_away(group: str) -> None:
    tried = 0

    @steady(300)
    @given(st.one_of(orders(), wild_orders()))
    def holds(order: Document) -> None:
        nonlocal tried
        for finding, remedy in offers(answer_to(order)):
            if not GROUPS[group](finding.code):
                continue
            for better in applied(order, remedy, finding):
                if is_within_bounds(better):
                    tried += 1
                    assert not remains(finding, answer_to(better)), (finding.code, finding.value, finding.limit, remedy)

    holds()
    # A shop that follows no remedy learns nothing: the draws must have offered some.
    assert tried >= 15


@steady(400)
@given(st.one_of(orders(), wild_orders()))
def test_every_remedy_can_be_sent(order: Document) -> None:
    for finding, remedy in offers(answer_to(order)):
        assert any(GROUPS[group](finding.code) for group in GROUPS), finding.code
        if remedy.one_of is not None:
            assert remedy.pointer in CHOICES
            assert remedy.one_of
        else:
            least, most = BOUNDS[remedy.pointer]
            given_bounds = [value for value in (remedy.at_least, remedy.at_most) if value is not None]
            assert given_bounds
            assert all(least <= value <= most for value in given_bounds), (finding.code, remedy)
