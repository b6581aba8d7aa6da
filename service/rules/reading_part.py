"""Reading parts: is the segment where it can be used, and is there room for a progressive lens?"""

from collections.abc import Iterator
from typing import Final

from service.facts import OrderFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule

SEGMENTED: Final = ("bifocal", "trifocal")
HEIGHT: Final = "/lens/segment/height_mm"


@rule(
    "segment-height-not-given",
    severity="review",
    source="2020mag",
    shop="A {value} pair was ordered and no segment height was read for the {eye}. Measure it from the lowest point of the "
    "lens: usually to the lower lid for a bifocal, to the lower edge of the pupil for a trifocal.",
    customer="For this kind of lens the shop measures how high the reading part begins.",
)
def segment_height_not_given(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A bifocal or trifocal is ordered without the height of its segment."""
    if facts.near is None or facts.lens.use not in SEGMENTED:
        return
    for eye in facts.near.eyes:
        if not eye.segment_height_given:
            yield Noticed(f"{HEIGHT}/{eye.eye}", eye.eye, value=facts.lens.use)


@rule(
    "segment-outside-lens",
    severity="reject",
    source="iso-13666",
    shop="A segment height of {value} was read for the {eye}; the lens is {limit} high, so the segment's top would lie outside "
    "it. Measure from the lowest point of the lens.",
    customer="The height of the reading part of the {eye} does not lie within the lens. Please measure it again.",
)
def segment_outside_lens(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The segment's top would lie outside the lens."""
    if facts.near is None:
        return
    for eye in facts.near.eyes:
        segment = eye.segment
        if segment is not None and not segment.inside:
            yield Noticed(
                f"{HEIGHT}/{eye.eye}", eye.eye, value=segment.height_mm, limit=segment.lens_height_mm, unit="mm"
            )


@rule(
    "segment-too-low",
    severity="review",
    source="memory",
    shop="The segment of the {eye} has {value} of lens below its top; for a {use} {limit} is wanted. Raise it, or choose a "
    "higher frame.",
    customer="In this frame the reading part of the {eye} would be small. A higher frame would suit better.",
)
def segment_too_low(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """There is little lens below the segment's top."""
    if facts.near is None:
        return
    for eye in facts.near.eyes:
        segment = eye.segment
        if segment is not None and segment.inside and segment.depth_mm < segment.least_depth_mm:
            yield Noticed(
                f"{HEIGHT}/{eye.eye}",
                eye.eye,
                value=segment.depth_mm,
                limit=segment.least_depth_mm,
                unit="mm",
                limit_key=segment.depth_key,
                words={"use": facts.lens.use},
            )


@rule(
    "segment-too-high",
    severity="review",
    source="memory",
    shop="The segment of the {eye} has {value} of lens above its top; {limit} is wanted for distance. Lower it, or choose a "
    "higher frame.",
    customer="In this frame little room is left above the reading part of the {eye}. Please have it measured again.",
)
def segment_too_high(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """There is little lens above the segment's top."""
    if facts.near is None:
        return
    limit = limits.profile.segment.room_above_mm
    for eye in facts.near.eyes:
        segment = eye.segment
        if segment is not None and segment.inside and segment.room_above_mm < limit:
            yield Noticed(
                f"{HEIGHT}/{eye.eye}",
                eye.eye,
                value=segment.room_above_mm,
                limit=limit,
                unit="mm",
                limit_key="segment.room_above_mm",
            )


@rule(
    "segment-above-pupil",
    severity="review",
    source="2020mag",
    shop="A segment height of {segment} was read for the {eye} and a pupil height of {pupil}: the segment's top would lie "
    "{off} the middle of the pupil; at least {limit} below it is wanted. The two may be exchanged.",
    customer="The reading part of the {eye} would begin at the pupil or above. Please have both heights measured again.",
)
def segment_above_pupil(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The segment's top lies at the middle of the pupil or higher."""
    if facts.near is None:
        return
    limit = limits.profile.segment.below_pupil_least_mm
    for eye in facts.near.eyes:
        segment = eye.segment
        if segment is not None and segment.below_pupil_mm is not None and segment.below_pupil_mm < limit:
            yield Noticed(
                f"{HEIGHT}/{eye.eye}",
                eye.eye,
                value=segment.below_pupil_mm,
                limit=limit,
                unit="mm",
                limit_key="segment.below_pupil_least_mm",
                words={
                    "segment": f"{segment.height_mm:g} mm",
                    "pupil": f"{segment.pupil_height_mm:g} mm",
                    "off": f"{abs(segment.below_pupil_mm):g} mm {'below' if segment.below_pupil_mm >= 0 else 'above'}",
                },
            )


@rule(
    "segment-heights-unequal",
    severity="review",
    source="common-practice",
    shop="The segment heights differ by {value}; up to {limit} is usual. Measure again with the frame level.",
    customer="The heights of the two reading parts are quite different. Please measure again with the frame level.",
)
def segment_heights_unequal(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The segment heights differ more than is usual."""
    limit = limits.profile.segment.heights_unequal_mm
    differ = None if facts.near is None else facts.near.segment_heights_differ_mm
    if differ is not None and differ > limit:
        yield Noticed(HEIGHT, value=differ, limit=limit, unit="mm", limit_key="segment.heights_unequal_mm")


@rule(
    "progressive-needs-monocular-pd",
    severity="review",
    source="common-practice",
    shop="A {value} pair was ordered and the PD of the {eye} was not given by itself. The corridor of such a lens is narrow: "
    "measure each eye from the middle of the bridge.",
    customer="For this kind of lens the shop measures the PD of each eye by itself.",
)
def progressive_needs_monocular_pd(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A progressive lens is ordered without the PD of each eye by itself."""
    if facts.lens.use != "progressive":
        return
    values = facts.pd.values
    if values.given_right_mm is None:
        yield Noticed("/pd_mm/right", "right", value=facts.lens.use)
    if values.given_left_mm is None:
        yield Noticed("/pd_mm/left", "left", value=facts.lens.use)


@rule(
    "progressive-needs-fitting-height",
    severity="review",
    source="2020mag",
    shop="A {value} pair was ordered and no fitting height was read for the {eye}. Measure it from the lowest point of the "
    "lens to the middle of the pupil.",
    customer="For this kind of lens the shop measures how high your eyes sit in the frame.",
)
def progressive_needs_fitting_height(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A progressive lens is ordered without fitting heights."""
    if facts.lens.use != "progressive":
        return
    for place in facts.places:
        if place.height_mm is None:
            yield Noticed(f"/fitting_height_mm/{place.eye}", place.eye, value=facts.lens.use)


@rule(
    "progressive-height-too-small",
    severity="review",
    source="2020plus-corridors",
    shop="Below the fitting point of the {eye} there is {value} of lens where the near zone lies; the design wants {limit}. "
    "Choose a design with a shorter corridor, or a higher frame.",
    customer="This frame is not high enough for this kind of lens. A higher one would suit better.",
)
def progressive_height_too_small(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """There is less lens below the fitting point than the design of a progressive lens wants."""
    if facts.near is None:
        return
    for eye in facts.near.eyes:
        room = eye.progressive
        if room is not None and room.spare_mm is not None and room.spare_mm < 0:
            yield Noticed(
                f"/fitting_height_mm/{eye.eye}",
                eye.eye,
                value=room.room_below_mm,
                limit=room.least_height_mm,
                unit="mm",
                limit_key=None if room.given else "progressive.least_height_mm",
            )


@rule(
    "progressive-room-above-small",
    severity="review",
    source="memory",
    shop="Above the fitting point of the {eye} there is {value} of lens; {limit} is wanted for distance. Choose a higher frame, "
    "or measure the height again.",
    customer="In this frame little room is left for looking far with the {eye}. A higher frame would suit better.",
)
def progressive_room_above_small(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """There is little lens above the fitting point of a progressive lens."""
    if facts.near is None:
        return
    limit = limits.profile.progressive.room_above_mm
    for eye in facts.near.eyes:
        room = None if eye.progressive is None else eye.progressive.room_above_mm
        if room is not None and room < limit:
            yield Noticed(
                f"/fitting_height_mm/{eye.eye}",
                eye.eye,
                value=room,
                limit=limit,
                unit="mm",
                limit_key="progressive.room_above_mm",
            )


@rule(
    "reading-part-figures-not-used",
    severity="note",
    source="common-practice",
    shop="Figures of {which} were read; a {value} pair does not use them. Check what the pair is for.",
    customer="Some figures of this order are for another kind of lens. Please check which kind you want.",
)
def reading_part_figures_not_used(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """Figures of a reading part are given for a lens that has none of that kind."""
    if facts.lens.segment_given and facts.lens.use not in SEGMENTED:
        yield Noticed("/lens/segment", value=facts.lens.use, words={"which": "a segment"})
    if facts.lens.progressive_given and facts.lens.use != "progressive":
        yield Noticed("/lens/progressive", value=facts.lens.use, words={"which": "a progressive design"})
