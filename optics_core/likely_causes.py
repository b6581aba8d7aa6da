"""What may have gone wrong with a pair that fails: mistakes that, undone on the measured side, bring it back.

The mistakes of a workshop are few: right and left changed over, an axis a quarter turn off, a sign turned, an axis
read from the wrong side, a lens put in upside down. Each is undone in turn and the pair compared again. What then is
within its limits in full is explained by the mistake; a residual that falls to a third or less is explained for the
most part. That is a hint for a person, not a proof, and nothing is said of a lens that passes. A power written in the
other form is no mistake; a sign may have been turned in either form, so both are tried.

Signs as in `optics_core.sphero_cylinder` and `optics_core.prism`: axes counter-clockwise from +x for both eyes, base
vectors x to the observer's right and y up. Half a turn of a lens leaves power and axis and turns the base vector.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from optics_core._lens import SpheroCylinder
from optics_core._numeric import single_numbers
from optics_core._tolerance_rows import settled, single_minus_form
from optics_core.power_tolerance import add_comparison, power_comparisons
from optics_core.power_vectors import power_vector
from optics_core.prism import Eye, Prism
from optics_core.residual import residual_power
from optics_core.sphero_cylinder import plus_cylinder
from optics_core.tolerance import LensType, tolerances

Code: TypeAlias = Literal[
    "lenses-swapped",
    "axis-off-by-90",
    "sphere-sign",
    "cylinder-sign",
    "both-signs",
    "lens-upside-down",
    "axis-mirrored",
]
Explains: TypeAlias = Literal["all", "most"]

# What the residual must fall to for a mistake to be named that does not explain all of it. Common practice, no source.
_MOST = 1.0 / 3.0

# The limit for one lens by itself, whatever the standard for the pair: the other table has none that can be used.
_SINGLE_LENS_STANDARD = "ansi-z80.1-2015"

_NO_PRISM = Prism(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class EyeLens:
    """One lens as ordered or measured: power [D, deg], addition [D], base vector at the reference point [pd]."""

    power: SpheroCylinder
    add_d: float | None = None
    prism: Prism = _NO_PRISM


@dataclass(frozen=True, slots=True)
class Pair:
    """Both lenses; None for one that was not measured."""

    right: EyeLens | None
    left: EyeLens | None


@dataclass(frozen=True, slots=True)
class Cause:
    """A mistake that would explain what was measured; `eye` is None where it concerns the pair.

    Lengths of the residuals now and with the mistake undone, summed over the eyes concerned [D]; for prism the amounts
    of the error [pd]. The other two are None.
    """

    code: Code
    eye: Eye | None
    explains: Explains
    before_d: float | None = None
    after_d: float | None = None
    before_pd: float | None = None
    after_pd: float | None = None


@dataclass(frozen=True, slots=True)
class _State:
    """How one lens stands against its order: length of the residual [D], what exceeds its limit."""

    length_d: float
    power_fails: bool
    add_fails: bool

    @property
    def fails(self) -> bool:
        return self.power_fails or self.add_fails


_Eyes: TypeAlias = Mapping[Eye, tuple[EyeLens, EyeLens]]


def likely_causes(*, standard: str, lens: LensType, ordered: Pair, measured: Pair) -> tuple[Cause, ...]:
    """Mistakes that explain why a pair fails, the best explanation first.

    A mistake of power is named only where some power or addition exceeds its limit; one that explains it for the most
    part only where a power does, and where nothing explains that eye in full. A lens is called upside down only where
    prism is ordered and is wrong by more than the limit for a single lens: 0.33 pd, or what 1.0 mm makes of its
    stronger meridian. Of mistakes that come to the same, the first in the order of `Code` is named.

    Parameters
    ----------
    standard : str
        One of `tolerance.standards()`.
    lens : "single_vision" or "progressive"
        Kind of lens; multifocals count as single vision.
    ordered : Pair
        The pair as ordered. [D, deg, pd]
    measured : Pair
        The pair as measured. [D, deg, pd]

    Returns
    -------
    tuple of Cause
        Those that explain all before those that explain most, then by what is left; none for a pair that passes.

    Raises
    ------
    DomainError
        If there is no table for that standard, the kind of lens is neither of the two, a number is not a single finite
        one, or a cylinder other than 0 has no axis.

    Source
    ------
    common-practice, mistakes of a workshop and the third that counts as most; thibos-1997, length of the residual;
    tables/tolerances_<standard>_<year>.toml, limits of power, addition and of prism of an unmounted lens.
    """
    eyes = _known(ordered, measured)
    now = {eye: _state(standard, lens, *eyes[eye]) for eye in eyes}
    crossed = _crossed(ordered, measured)
    swapped = {eye: _state(standard, lens, *crossed[eye]) for eye in crossed}
    swap = _compared("lenses-swapped", None, list(now.values()), list(swapped.values()))
    found = [cause for eye in eyes for cause in _causes_of_power(standard, lens, eye, *eyes[eye], now[eye])]
    in_full = {cause.eye for cause in found if cause.explains == "all"}
    put_right: set[Eye] = set()
    if swap is not None:
        if swap.explains == "all" or not {eye for eye in now if now[eye].fails} <= in_full:
            found.insert(0, swap)
        put_right = {eye for eye in swapped if not swapped[eye].fails}
    found = [
        cause for cause in found if cause.eye is None or cause.explains == "all" or cause.eye not in in_full | put_right
    ]
    for eye in eyes:
        if not (eye in put_right and _prism_is_within(*crossed[eye])):
            found += _turned(eye, *eyes[eye])
    return tuple(sorted(found, key=_rank))


def _rank(cause: Cause) -> tuple[bool, bool, float]:
    after = cause.after_pd if cause.after_d is None else cause.after_d
    return cause.explains == "most", cause.after_d is None, after or 0.0


def _known(ordered: Pair, measured: Pair) -> _Eyes:
    pairs: Mapping[Eye, tuple[EyeLens | None, EyeLens | None]] = {
        "right": (ordered.right, measured.right),
        "left": (ordered.left, measured.left),
    }
    return {eye: (wanted, got) for eye, (wanted, got) in pairs.items() if wanted is not None and got is not None}


def _crossed(ordered: Pair, measured: Pair) -> _Eyes:
    """The order of each eye with what was measured of the other; nothing unless all four are known."""
    eyes = _known(ordered, Pair(measured.left, measured.right))
    return eyes if len(eyes) == 2 and len(_known(ordered, measured)) == 2 else {}


def _state(standard: str, lens: LensType, ordered: EyeLens, measured: EyeLens) -> _State:
    compared = power_comparisons(standard=standard, lens=lens, ordered=ordered.power, measured=measured.power)
    add_fails = False
    if ordered.add_d is not None and measured.add_d is not None:
        add = add_comparison(standard=standard, ordered_d=ordered.add_d, measured_d=measured.add_d)
        add_fails = add.within is False
    length = residual_power(ordered=ordered.power, measured=measured.power).length_d
    return _State(length, any(one.within is False for one in compared), add_fails)


def _compared(code: Code, eye: Eye | None, now: Sequence[_State], then: Sequence[_State]) -> Cause | None:
    """The cause, if undoing it explains what fails now."""
    if not then or not any(state.fails for state in now):
        return None
    before, after = (sum(state.length_d for state in states) for states in (now, then))
    if not any(state.fails for state in then):
        return Cause(code, eye, "all", before, after)
    if any(state.power_fails for state in now) and after <= before * _MOST:
        return Cause(code, eye, "most", before, after)
    return None


def _causes_of_power(
    standard: str, lens: LensType, eye: Eye, ordered: EyeLens, measured: EyeLens, now: _State
) -> Iterator[Cause]:
    """Each mistake of one eye's power that explains it, once; a code stands for the better of both forms."""
    seen = set()
    for code, powers in _undone(measured.power):
        causes = []
        for power in powers:
            then = _state(standard, lens, ordered, EyeLens(power, measured.add_d, measured.prism))
            if (cause := _compared(code, eye, [now], [then])) is not None:
                causes.append((_rank(cause), _outcome(power), cause))
        if causes:
            _, outcome, cause = min(causes, key=lambda entry: entry[0])
            if outcome not in seen:
                yield cause
            seen.add(outcome)


def _undone(measured: SpheroCylinder) -> Iterator[tuple[Code, list[SpheroCylinder]]]:
    """The measured lens with each mistake undone, in the order of `Code`."""
    minus = single_minus_form(measured)
    plus = plus_cylinder(sphere_d=minus.sphere_d, cylinder_d=minus.cylinder_d, axis_deg=minus.axis_deg)
    if minus.axis_deg is not None:
        yield "axis-off-by-90", [SpheroCylinder(minus.sphere_d, minus.cylinder_d, minus.axis_deg + 90.0)]
    yield "sphere-sign", [SpheroCylinder(-form.sphere_d, form.cylinder_d, form.axis_deg) for form in (minus, plus)]
    yield "cylinder-sign", [SpheroCylinder(form.sphere_d, -form.cylinder_d, form.axis_deg) for form in (minus, plus)]
    yield "both-signs", [SpheroCylinder(-minus.sphere_d, -minus.cylinder_d, minus.axis_deg)]
    if minus.axis_deg is not None:
        yield "axis-mirrored", [SpheroCylinder(minus.sphere_d, minus.cylinder_d, 180.0 - minus.axis_deg)]


def _outcome(power: SpheroCylinder) -> tuple[float, float, float]:
    """What two mistakes have in common that come to the same lens."""
    vector = power_vector(sphere_d=power.sphere_d, cylinder_d=power.cylinder_d, axis_deg=power.axis_deg)
    return settled(vector.m_d), settled(vector.j0_d), settled(vector.j45_d)


def _turned(eye: Eye, ordered: EyeLens, measured: EyeLens) -> Iterator[Cause]:
    """Upside down: both components of the prism turned."""
    wanted, got = _vector(ordered.prism), _vector(measured.prism)
    if wanted == (0.0, 0.0):
        return
    limit = _single_lens_limit(ordered.power)
    before, after = settled(math.dist(wanted, got)), settled(math.hypot(wanted[0] + got[0], wanted[1] + got[1]))
    if before > limit and (after <= limit or after <= before * _MOST):
        explains: Explains = "all" if after <= limit else "most"
        yield Cause("lens-upside-down", eye, explains, before_pd=before, after_pd=after)


def _prism_is_within(ordered: EyeLens, measured: EyeLens) -> bool:
    error = math.dist(_vector(ordered.prism), _vector(measured.prism))
    return settled(error) <= _single_lens_limit(ordered.power)


def _single_lens_limit(power: SpheroCylinder) -> float:
    """Prism one lens may be off by: the prism limit, or what the distance limit makes of its stronger meridian. [pd]"""
    row = tolerances(standard=_SINGLE_LENS_STANDARD)["prism_unmounted"][0]
    form = single_minus_form(power)
    strongest = max(abs(form.sphere_d), abs(form.sphere_d + form.cylinder_d))
    return settled(max(row["limit_pd"], row["limit_mm"] * strongest / 10.0))


def _vector(prism: Prism) -> tuple[float, float]:
    x, y = single_numbers(("x_pd", "y_pd"), prism.x_pd, prism.y_pd)
    return x + 0.0, y + 0.0
