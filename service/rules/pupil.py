"""Pupillary distance: is it there, and can it be right?"""

from collections.abc import Iterator

from service.facts import OrderFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "pd-missing",
    severity="reject",
    source="iso-13666",
    shop="No PD was read for the {eye}. Lenses cannot be centred without it. Ask for the PD of each eye, or for both "
    "together.",
    customer="We need the pupillary distance (PD) to make your glasses. It is often on the prescription; the shop can "
    "tell you how to measure it.",
)
def pd_missing(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """There is no PD for an eye."""
    values, near = facts.pd.values, facts.near
    # A pair for reading can do with the near PD.
    eyes = near.eyes if near is not None and facts.lens.use == "near" else ()
    known = {eye.eye for eye in eyes if eye.pd_mm is not None}
    if values.right_mm is None and "right" not in known:
        yield Noticed("/pd_mm/right", "right")
    if values.left_mm is None and "left" not in known:
        yield Noticed("/pd_mm/left", "left")


@rule(
    "pd-for-both-looks-like-one-eye",
    severity="reject",
    source="eyes40",
    shop="A PD of {value} was read for both eyes together; up to {limit} it is the size of one eye's. Ask whether it is "
    "half of the PD, and for the other half.",
    customer="The PD you gave is about half of a usual one. If your prescription shows two numbers, please enter each.",
)
def pd_for_both_looks_like_one_eye(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The PD for both eyes is as small as that of one eye."""
    if facts.pd.both_like_one_eye:
        yield Noticed(
            "/pd_mm/both",
            value=facts.pd.values.given_both_mm,
            limit=limits.profile.pd.one_eye_most_mm,
            unit="mm",
            limit_key="pd.one_eye_most_mm",
        )


@rule(
    "pd-for-one-eye-looks-like-both",
    severity="reject",
    source="eyes40",
    shop="A PD of {value} was read for the {eye} alone; beyond {limit} it is the size of the PD for both eyes. Ask "
    "whether it is the whole PD.",
    customer="The PD of the {eye} looks like the distance for both eyes together. If your prescription shows one "
    "number, enter it as the PD for both.",
)
def pd_for_one_eye_looks_like_both(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The PD of one eye is as large as that of both."""
    values = facts.pd.values
    for eye in facts.pd.halves_like_both:
        yield Noticed(
            f"/pd_mm/{eye}",
            eye,
            value=values.given_right_mm if eye == "right" else values.given_left_mm,
            limit=limits.profile.pd.half_most_mm,
            unit="mm",
            limit_key="pd.half_most_mm",
        )


@rule(
    "pd-unusual-for-age",
    severity="review",
    source="ansur2",
    shop="A PD of {value} was read; {usual}. Measure again, or ask for the age if it was not given.",
    customer="The PD is unusual. Please measure it again, or ask where your eyes were tested.",
)
def pd_unusual_for_age(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The PD lies outside what is usual at this age."""
    total, usual = facts.pd.total_mm, facts.pd.usual
    if total is None or facts.pd.both_like_one_eye or facts.pd.halves_like_both:
        return
    if usual.least_mm <= total <= usual.most_mm:
        return
    values = facts.pd.values
    where = "/pd_mm/both" if values.given_right_mm is None and values.given_left_mm is None else "/pd_mm"
    who = "for an adult (no age was given)" if facts.age_years is None else "at this age"
    yield Noticed(
        where,
        value=total,
        limit=usual.least_mm if total < usual.least_mm else usual.most_mm,
        unit="mm",
        limit_key="pd.ranges",
        words={"usual": f"{usual.least_mm:g} to {usual.most_mm:g} mm is usual {who}"},
    )


@rule(
    "pd-halves-unequal",
    severity="review",
    source="eyes40",
    shop="The halves of the PD differ by {value}; more than {limit} is rare. Measure both again.",
    customer="The PD numbers of the two eyes are quite different. Please check both.",
)
def pd_halves_unequal(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The halves of the PD differ more than is usual."""
    limit = limits.profile.pd.halves_unequal_mm
    differ = facts.pd.halves_differ_mm
    if differ is not None and differ > limit and not facts.pd.halves_like_both:
        yield Noticed("/pd_mm", value=differ, limit=limit, unit="mm", limit_key="pd.halves_unequal_mm")


@rule(
    "pd-sum-differs",
    severity="review",
    source="house",
    shop="The halves of the PD add up to {value} away from the PD given for both; {limit} is put down to rounding. Ask "
    "which is right; the halves were used.",
    customer="The PD numbers do not fit together. Please check them against your prescription.",
)
def pd_sum_differs(facts: OrderFacts, limits: Limits) -> Iterator[Noticed]:
    """The halves do not add up to the PD given for both."""
    limit = limits.profile.pd.sum_differs_mm
    if facts.pd.both_differs_mm is not None and facts.pd.both_differs_mm > limit:
        yield Noticed(
            "/pd_mm/both", value=facts.pd.both_differs_mm, limit=limit, unit="mm", limit_key="pd.sum_differs_mm"
        )


@rule(
    "pd-near-not-smaller",
    severity="review",
    source="brooks-borish-near-pd",
    shop="A near PD of {value} was read against {limit} for distance. Eyes turn inward for near work, so the near PD is "
    "smaller. The two may be exchanged.",
    customer="The PD for reading should be smaller than the PD for distance. Please check whether the two were swapped.",
)
def pd_near_not_smaller(facts: OrderFacts, _: Limits) -> Iterator[Noticed]:
    """The near PD is not smaller than the distance PD."""
    near, far = facts.pd.values.near_mm, facts.pd.total_mm
    if near is not None and far is not None and near >= far:
        yield Noticed("/pd_mm/near", value=near, limit=far, unit="mm")
