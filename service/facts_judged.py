"""One quantity of a finished pair against its order: what every part of an inspection comes to."""

from dataclasses import dataclass
from typing import Literal

from optics_core.pair_imbalance import Imbalance
from optics_core.power_tolerance import Comparison, Limit, listed_limit
from service.facts_measured import Figure
from service.quantities import quantity
from service.rounding import settled
from service.values import EyeName

JudgedResult = Literal["pass", "fail", "warn", "not_judged"]


@dataclass(frozen=True, slots=True)
class Other:
    """The second of two criteria of which either passes."""

    deviation: float
    limit: float
    unit: str


@dataclass(frozen=True, slots=True)
class Judged:
    """One quantity. `limit`, `share` and what follows are None where the standard sets none.

    `source` is the id of the limit's source, `mark` how it is known, `share` the kinder of two criteria; `spread_share` is the
    part of the limit that the repeated readings lie apart.
    """

    eye: EyeName | None
    quantity: str
    pointer: str
    ordered: float | None
    measured: float
    deviation: float
    unit: str
    limit: float | None
    share: float | None
    source: str | None
    mark: Literal["read", "memory"] | None
    other: Other | None
    count: int
    spread: float | None
    spread_share: float | None

    @property
    def within(self) -> bool | None:
        """Whether the deviation is no more than its limit; None without one."""
        return None if self.share is None else self.share <= 1.0

    @property
    def result(self) -> JudgedResult:
        """A limit that is only recalled can warn; it never passes or fails anything."""
        if self.within is None:
            return "not_judged"
        if self.mark == "memory":
            return "not_judged" if self.within else "warn"
        return "pass" if self.within else "fail"


@dataclass(frozen=True, slots=True)
class OffAlike:
    """One lens of a pair that keeps to its limit, off by more than the pair may be: the other lens makes up for it."""

    eye: EyeName
    pointer: str
    alone: Imbalance


@dataclass(frozen=True, slots=True)
class Repeats:
    """Number of readings, of the lens with fewer; their range as an imbalance of its own, None for one reading."""

    count: int
    apart: Imbalance | None


@dataclass(frozen=True, slots=True)
class Missing:
    """Something that belongs to an inspection and was not measured, or cannot be compared; `how` says how it is measured."""

    eye: EyeName | None
    words: str
    pointer: str
    how: str = ""


def pointer_of(eye: EyeName | None, name: str) -> str:
    """Where a quantity stands in a request for an inspection."""
    member = quantity(name).member
    if eye is None:
        return f"/measured/{member}"
    if name in ("optical_centre_from_bridge", "optical_centre_height"):
        return f"/measured/{name}_mm/{eye}"
    return f"/measured/{eye}/{member}"


def compared(eye: EyeName | None, one: Comparison, count: int, spread: float | None) -> Judged:
    """A comparison of the core, with where it stands and how it was measured."""
    limit = one.limit
    return Judged(
        eye=eye,
        quantity=one.quantity,
        pointer=pointer_of(eye, one.quantity),
        ordered=one.ordered,
        measured=one.measured,
        deviation=one.deviation,
        unit=quantity(one.quantity).unit,
        limit=None if limit is None else limit.size,
        share=one.share,
        source=None if limit is None else limit.source,
        mark=None if limit is None else limit.mark,
        other=None,
        count=count,
        spread=spread,
        spread_share=None if spread is None or limit is None else settled(spread / limit.size),
    )


def figure_compared(eye: EyeName | None, name: str, ordered: float, figure: Figure, limit: Limit | None) -> Judged:
    """One measured figure against what was ordered."""
    one = Comparison(name, settled(ordered), figure.mean, settled(figure.mean - ordered), limit)
    return compared(eye, one, figure.count, figure.spread)


def listed(standard: str, section: str, name: str) -> Limit | None:
    """A limit that depends on no power."""
    return listed_limit(standard=standard, section=section, quantity=name)


def pair_compared(found: Imbalance, ordered_pd: float, pointer: str, repeats: Repeats) -> Judged:
    """Prism of the pair in one direction, against the two criteria of which either passes; `pointer` is where it was read."""
    name = f"{found.direction}_imbalance"
    return Judged(
        eye=None,
        quantity=name,
        pointer=pointer,
        ordered=settled(ordered_pd),
        measured=settled(ordered_pd + found.prism_pd),
        deviation=found.prism_pd,
        unit="Δ",
        limit=found.limit_pd,
        share=found.share,
        source=found.source,
        mark=found.mark,
        other=None if found.off_mm is None else Other(found.off_mm, found.limit_mm, "mm"),
        count=repeats.count,
        spread=None if repeats.apart is None else repeats.apart.prism_pd,
        spread_share=None if repeats.apart is None else repeats.apart.share,
    )
