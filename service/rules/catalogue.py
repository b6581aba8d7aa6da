"""The catalogue of a screening: what of it could not be used."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from service.profile.loader import Limits
from service.rules.rule import Noticed, rule

CatalogueFault = Literal["missing", "twice", "unreadable", "too-long"]
_CUSTOMER = "We could not look through our frames. Please tell the shop."


@dataclass(frozen=True, slots=True)
class ScreenFacts:
    """Why there is nothing to be screened: the kind of fault, and a sentence for each place of it in a CSV."""

    fault: CatalogueFault | None
    places: tuple[str, ...] = ()
    frames: int = 0
    frames_most: int = 0


@rule(
    "catalogue-missing",
    severity="reject",
    source="house",
    scope="screen",
    shop="No frames were given, and the profile names no catalogue. Send them as a list, as lines or as CSV, or name a "
    "file in the profile.",
    customer=_CUSTOMER,
)
def catalogue_missing(facts: ScreenFacts, _: Limits) -> Iterator[Noticed]:
    """There are no frames to look through."""
    if facts.fault == "missing":
        yield Noticed("/frames")


@rule(
    "catalogue-given-twice",
    severity="reject",
    source="house",
    scope="screen",
    shop="Frames were given as a list and as CSV. Which of the two is meant cannot be known: send one of them.",
    customer=_CUSTOMER,
)
def catalogue_given_twice(facts: ScreenFacts, _: Limits) -> Iterator[Noticed]:
    """Frames are given as a list and as CSV."""
    if facts.fault == "twice":
        yield Noticed("/frames_csv")


@rule(
    "catalogue-not-readable",
    severity="reject",
    source="house",
    scope="screen",
    shop="{what} Nothing was screened, so that no frame is left out in silence.",
    customer=_CUSTOMER,
)
def catalogue_not_readable(facts: ScreenFacts, _: Limits) -> Iterator[Noticed]:
    """A row of a catalogue as CSV cannot be read."""
    if facts.fault == "unreadable":
        for what in facts.places:
            yield Noticed("/frames_csv", words={"what": what})


@rule(
    "catalogue-too-long",
    severity="reject",
    source="house",
    scope="screen",
    shop="{value} frames were read. With a reading part, a list of finished blanks or marked blanks, every frame needs a whole "
    "check, and up to {limit} are taken at once. Send them in parts.",
    customer=_CUSTOMER,
)
def catalogue_too_long(facts: ScreenFacts, _: Limits) -> Iterator[Noticed]:
    """A catalogue is too long for an order whose frames need a whole check each."""
    if facts.fault == "too-long":
        yield Noticed("/frames", value=float(facts.frames), limit=float(facts.frames_most))
