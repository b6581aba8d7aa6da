"""The frame: can such a frame exist, is it usual, and does the pupil sit well inside the lens?"""

from collections.abc import Iterator

from service.contract.answer import Remedy
from service.facts import OrderFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule

_PRINTED = {"A": "lens width", "B": "lens height", "DBL": "bridge"}


@rule(
    "ed-below-box",
    severity="reject",
    source="iso-13666",
    shop="An ED of {value} was read; it cannot be smaller than the larger of A and B, {limit}. Measure ED again; it was "
    "left aside.",
    customer="The frame's longest measure does not fit its width and height. Please check the frame sizes.",
)
def ed_below_box(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The ED is smaller than the box allows."""
    frame = facts.frame
    if frame.given_ed_mm is not None and frame.ed_mm is None and frame.given_ed_mm < frame.largest_side_mm:
        yield Noticed(
            "/frame/ed_mm",
            value=frame.given_ed_mm,
            limit=frame.largest_side_mm,
            unit="mm",
            remedies=[Remedy("/frame/ed_mm", at_least=frame.largest_side_mm, at_most=frame.diagonal_mm)],
        )


@rule(
    "ed-above-diagonal",
    severity="reject",
    source="iso-13666",
    shop="An ED of {value} was read; no lens shape is longer than the diagonal of its box, {limit}. Measure ED again; it "
    "was left aside.",
    customer="The frame's longest measure does not fit its width and height. Please check the frame sizes.",
)
def ed_above_diagonal(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The ED is larger than the box's diagonal."""
    frame = facts.frame
    if frame.given_ed_mm is not None and frame.ed_mm is None and frame.given_ed_mm > frame.diagonal_mm:
        yield Noticed(
            "/frame/ed_mm",
            value=frame.given_ed_mm,
            limit=frame.diagonal_mm,
            unit="mm",
            remedies=[Remedy("/frame/ed_mm", at_least=frame.largest_side_mm, at_most=frame.diagonal_mm)],
        )


@rule(
    "b-larger-than-a",
    severity="review",
    source="clinic-frame-sizes",
    shop="B was read as {value} and A as {limit}. Lenses are hardly ever higher than wide; A and B may be exchanged.",
    customer="The lens height is larger than its width. Please check whether the two were swapped.",
)
def b_larger_than_a(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The lens is higher than wide."""
    frame = facts.frame
    if frame.b_mm > frame.a_mm:
        yield Noticed("/frame/b_mm", value=frame.b_mm, limit=frame.a_mm, unit="mm")


@rule(
    "frame-size-unusual",
    severity="review",
    source="clinic-frame-sizes",
    shop="{name} was read as {value}; the usual range ends at {limit}. Check it on the frame; A, B and DBL may be "
    "exchanged or in another unit.",
    customer="A frame size is unusual ({printed}). Please check the numbers printed inside the frame.",
)
def frame_size_unusual(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A boxed size lies outside the usual range."""
    frame, section = facts.frame, limits.profile.frame
    for key, name, value, least, most in (
        ("a", "A", frame.a_mm, section.a_least_mm, section.a_most_mm),
        ("b", "B", frame.b_mm, section.b_least_mm, section.b_most_mm),
        ("dbl", "DBL", frame.dbl_mm, section.dbl_least_mm, section.dbl_most_mm),
    ):
        if least <= value <= most:
            continue
        end = "least" if value < least else "most"
        yield Noticed(
            f"/frame/{key}_mm",
            value=value,
            limit=least if value < least else most,
            unit="mm",
            limit_key=f"frame.{key}_{end}_mm",
            remedies=[Remedy(f"/frame/{key}_mm", at_least=least, at_most=most)],
            words={"name": name, "printed": _PRINTED[name]},
        )


@rule(
    "fitting-height-outside-lens",
    severity="reject",
    source="iso-13666",
    shop="A fitting height of {value} was read for the {eye}; the lens is {limit} high, so the pupil would sit outside "
    "it. Measure from the lowest point of the lens.",
    customer="The fitting height of the {eye} does not lie within the lens. Please measure it again.",
)
def fitting_height_outside_lens(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The pupil would sit outside the lens."""
    for place in facts.places:
        if place.height_mm is not None and not 0 < place.height_mm < facts.frame.b_mm:
            yield Noticed(
                f"/fitting_height_mm/{place.eye}",
                place.eye,
                value=place.height_mm,
                limit=facts.frame.b_mm,
                unit="mm",
            )


@rule(
    "fitting-height-near-edge",
    severity="review",
    source="common-practice",
    shop="The pupil of the {eye} has {value} of lens {where} it; {limit} is usual. Measure the height again, or choose "
    "another frame.",
    customer="Your {eye} would look through the very {edge} of the lens. Please check the fitting height.",
)
def fitting_height_near_edge(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The pupil sits near the upper or lower edge of the lens."""
    fit = limits.profile.fit
    for place in facts.places:
        height, above = place.height_mm, place.room_above_mm
        if height is None or above is None or not 0 < height < facts.frame.b_mm:
            continue
        if height < fit.room_below_mm:
            room, limit, key, where, edge = height, fit.room_below_mm, "fit.room_below_mm", "below", "bottom"
        elif above < fit.room_above_mm:
            room, limit, key, where, edge = above, fit.room_above_mm, "fit.room_above_mm", "above", "top"
        else:
            continue
        yield Noticed(
            f"/fitting_height_mm/{place.eye}",
            place.eye,
            value=room,
            limit=limit,
            unit="mm",
            limit_key=key,
            words={"where": where, "edge": edge},
        )


@rule(
    "fitting-heights-unequal",
    severity="review",
    source="common-practice",
    shop="The fitting heights differ by {value}; up to {limit} is usual. Measure again with the frame level.",
    customer="The fitting heights of the two eyes are quite different. Please measure again with the frame level.",
)
def fitting_heights_unequal(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The fitting heights differ more than is usual."""
    limit = limits.profile.fit.heights_unequal_mm
    if facts.heights_differ_mm is not None and facts.heights_differ_mm > limit:
        yield Noticed(
            "/fitting_height_mm",
            value=facts.heights_differ_mm,
            limit=limit,
            unit="mm",
            limit_key="fit.heights_unequal_mm",
        )
