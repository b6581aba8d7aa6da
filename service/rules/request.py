"""Requests that are well formed and still cannot be worked with."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@dataclass(frozen=True, slots=True)
class RequestFacts:
    """What keeps a well-formed request from being worked with."""

    is_written: bool = False
    profile_fault: str | None = None


@rule(
    "written-prescription-not-read",
    severity="reject",
    source="house",
    scope="request",
    shop="The prescription came as text. This version does not read text and does not guess: send sphere, cylinder and "
    "axis of each eye in fields of their own.",
    customer="Please enter the numbers of your prescription in the fields for each eye.",
)
def written_prescription_not_read(facts: RequestFacts, _: Limits) -> Iterator[Noticed]:
    """The prescription came as text, which this version does not read."""
    if facts.is_written:
        yield Noticed("/prescription/written")


@rule(
    "profile-contradicts-itself",
    severity="reject",
    source="house",
    scope="request",
    shop="The overrides of the profile cannot be used. {fault}",
    customer="Something is wrong with the shop's settings. Please tell the shop.",
)
def profile_contradicts_itself(facts: RequestFacts, _: Limits) -> Iterator[Noticed]:
    """The request's overrides contradict each other or the profile."""
    if facts.profile_fault is not None:
        yield Noticed("/profile", words={"fault": facts.profile_fault})
