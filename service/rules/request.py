"""Requests that are well formed and still cannot be worked with."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.profile.loader import Limits
from service.rules.rule import Noticed, rule


@dataclass(frozen=True, slots=True)
class RequestFacts:
    """What keeps a well-formed request from being worked with."""

    profile_fault: str | None = None


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
