"""Near work: is the near PD right, is the power to cut known, and does the addition suit the distance?"""

from collections.abc import Iterator

from service.facts import OrderFacts
from service.notation import whole_degree_line
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "near-pd-far-from-geometry",
    severity="review",
    source="optiboard",
    shop="A near PD of {near} was taken for the {eye}; for {distance} geometry gives {geometry}, {value} away, more than "
    "{limit}. Measure it again, or ask for which distance it was measured.",
    customer="The PD for reading of the {eye} is unusual. Please measure it again.",
)
def near_pd_far_from_geometry(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """A near PD that was given is far from what the distance PD and the working distance make it."""
    if facts.near is None:
        return
    limit = limits.profile.near.pd_differs_mm
    for eye in facts.near.eyes:
        if eye.differs_mm is not None and eye.differs_mm > limit:
            yield Noticed(
                "/pd_mm/near",
                eye.eye,
                value=eye.differs_mm,
                limit=limit,
                unit="mm",
                limit_key="near.pd_differs_mm",
                words={
                    "near": f"{eye.pd_mm:.2f} mm",
                    "geometry": f"{eye.by_geometry_mm:.2f} mm",
                    "distance": f"{facts.near.working_mm:g} mm",
                },
            )


@rule(
    "near-pd-sum-differs",
    severity="review",
    source="house",
    shop="The near PDs of the two eyes, as used, add up to {value} away from the near PD given for both; {limit} is put down "
    "to rounding. Ask which is right.",
    customer="The PD numbers for reading do not fit together. Please check them.",
)
def near_pd_sum_differs(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The near PDs of the two eyes do not add up to the one given for both."""
    limit = limits.profile.pd.sum_differs_mm
    if facts.near is None or facts.near.halves_differ_mm is None or facts.near.halves_differ_mm <= limit:
        return
    yield Noticed(
        "/pd_mm/near/both", value=facts.near.halves_differ_mm, limit=limit, unit="mm", limit_key="pd.sum_differs_mm"
    )


@rule(
    "near-pd-without-distance-pd",
    severity="review",
    source="house",
    shop="For this reading pair a near PD of {value} was read and no distance PD by which it could be checked. The fit of this "
    "answer is for it. Measure it again, or ask for the distance PD.",
    customer="We will check the PD for reading with you before we make the glasses.",
)
def near_pd_without_distance_pd(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A pair for reading is centred by a near PD alone."""
    near, pd = facts.near, facts.pd.values
    if near is None or facts.lens.use != "near" or near.pd_mm is None or near.alone_outside is not None:
        return
    if pd.right_mm is None or pd.left_mm is None:
        yield Noticed("/pd_mm", value=near.pd_mm, unit="mm")


@rule(
    "near-pd-alone-not-usual",
    severity="reject",
    source="ansur2",
    shop="A near PD of {value} was read and no distance PD; at this age near PDs from {least} to {most} are usual. It may be "
    "that of one eye, or be given twice. The lenses were not centred by it: measure it again.",
    customer="The PD for reading is unusual. Please measure it again.",
)
def near_pd_alone_not_usual(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A near PD stands alone and is not one that anybody of this age is likely to have."""
    near = facts.near
    if near is not None and near.alone_outside is not None and near.pd_mm is not None:
        least, most = near.alone_outside
        yield Noticed(
            "/pd_mm/near",
            value=near.pd_mm,
            limit=least if near.pd_mm < least else most,
            unit="mm",
            words={"least": f"{least:.2f} mm", "most": f"{most:.2f} mm"},
        )


@rule(
    "near-power-worked-out",
    severity="review",
    source="nfos",
    shop="A pair for {value} use was ordered from powers with an addition. The powers to cut are those for reading, distance + "
    "add: right {right}, left {left}. The fit of this answer is for them and for the near PD. Confirm them; do not cut the "
    "powers as written.",
    customer="For reading glasses the shop adds the ADD to your prescription.",
)
def near_power_worked_out(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """A near pair is ordered from a distance prescription with an addition for each eye."""
    if facts.near is None or not facts.near.cut:
        return
    right, left = (eye.reading for eye in facts.near.eyes)
    if right is not None and left is not None:
        yield Noticed(
            "/lens/use",
            value=facts.lens.use,
            words={
                "right": whole_degree_line(right.sphere_d, right.cylinder_d, right.axis_deg),
                "left": whole_degree_line(left.sphere_d, left.cylinder_d, left.axis_deg),
            },
        )


@rule(
    "add-too-strong-for-distance",
    severity="review",
    source="derived",
    shop="An addition of {value} is taken with a working distance of {distance}. For that distance {limit} is enough with the "
    "eyes at rest; through a stronger addition only what is nearer is clear. Ask for the distance, or for the addition.",
    customer="The ADD on your prescription is for a shorter distance than you gave. Please check the distance.",
)
def add_too_strong_for_distance(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The addition, or the part of it for an intermediate distance, is focused nearer than the working distance given."""
    near = facts.near
    if near is None or near.accommodation_d is None or near.accommodation_d >= 0:
        return
    yield Noticed(
        "/as_worn/working_distance_mm",
        value=near.taken_add_d,
        limit=near.add_for_distance_d,
        unit="D",
        words={"distance": f"{near.working_mm:g} mm"},
    )
