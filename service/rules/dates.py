"""Is the prescription still in date?"""

from collections.abc import Iterator

from service.facts_prescription import PrescriptionFacts
from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@rule(
    "prescription-expired",
    severity="review",
    source="expiry-practice",
    scope="prescription",
    shop="The prescription expired on {value}; the order is judged on {limit}. Whether it may still be supplied is for the "
    "prescriber and the law of the place.",
    customer="Your prescription has expired. Please have your eyes tested, or ask whether it can still be used.",
)
def prescription_expired(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """The prescription's own expiry day is past."""
    if facts.expires_on is not None and facts.expires_on < facts.as_of:
        yield Noticed("/prescription/expires_on", value=facts.expires_on.isoformat(), limit=facts.as_of.isoformat())


@rule(
    "expiry-before-issue",
    severity="review",
    source="house",
    scope="prescription",
    shop="The prescription expires on {value}, before it was issued on {limit}. Check both days.",
    customer="The dates of your prescription do not fit together. Please check them.",
)
def expiry_before_issue(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """The expiry day lies before the day of issue."""
    if facts.expires_on is not None and facts.issued_on is not None and facts.expires_on < facts.issued_on:
        yield Noticed("/prescription/expires_on", value=facts.expires_on.isoformat(), limit=facts.issued_on.isoformat())


@rule(
    "prescription-dated-ahead",
    severity="review",
    source="house",
    scope="prescription",
    shop="The prescription was issued on {value}, after {limit}, the day on which the order is judged. Check the day, month "
    "and year.",
    customer="The date of your prescription lies in the future. Please check it.",
)
def prescription_dated_ahead(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """The day of issue lies ahead."""
    if facts.age_days is not None and facts.age_days < 0 and facts.issued_on is not None:
        yield Noticed("/prescription/issued_on", value=facts.issued_on.isoformat(), limit=facts.as_of.isoformat())


@rule(
    "prescription-old",
    severity="review",
    source="expiry-practice",
    scope="prescription",
    shop="The prescription is {value} old; more than {limit} is old. Advise a new eye examination; some places forbid "
    "supply.",
    customer="Your prescription is quite old. We advise a new eye test before you order.",
)
def prescription_old(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The prescription is older than the profile's second limit."""
    limit = limits.profile.dates.old_after_days
    if facts.age_days is not None and facts.age_days > limit:
        yield _age(facts.age_days, limit, "dates.old_after_days")


@rule(
    "prescription-ageing",
    severity="note",
    source="expiry-practice",
    scope="prescription",
    shop="The prescription is {value} old, more than {limit}. Some places limit supply to a year.",
    customer="Your prescription is more than a year old. A new eye test may be worthwhile.",
)
def prescription_ageing(facts: PrescriptionFacts, limits: Limits) -> Iterator[Noticed]:
    """The prescription is older than the profile's first limit."""
    dates = limits.profile.dates
    if facts.age_days is not None and dates.noted_after_days < facts.age_days <= dates.old_after_days:
        yield _age(facts.age_days, dates.noted_after_days, "dates.noted_after_days")


@rule(
    "prescription-undated",
    severity="note",
    source="expiry-practice",
    scope="prescription",
    shop="No day of issue was given, so nothing can be said of the prescription's age. Ask for it.",
    customer="Please add the date of your prescription.",
)
def prescription_undated(facts: PrescriptionFacts, _: Limits) -> Iterator[Noticed]:
    """The day of issue is not known."""
    if facts.issued_on is None:
        yield Noticed("/prescription/issued_on")


def _age(age_days: int, limit_days: float, key: str) -> Noticed:
    return Noticed("/prescription/issued_on", value=float(age_days), limit=limit_days, unit="days", limit_key=key)
