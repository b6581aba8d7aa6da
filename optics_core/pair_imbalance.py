"""Prism of a finished pair against its limits: how far each lens is off, and what that asks of the two eyes together.

Prism at a reference point that is not as ordered is a fault of the lens's place: the point where the prism is as
ordered lies elsewhere. Standards limit the prism of weak pairs and that displacement of strong ones, with a switch
power between. Here either passes, which reproduces the bands but for what the two differ by at the switch: kinder by up
to 0.02 pd just short of ANSI's 2.75 D and just beyond ISO's 3.25 D, by up to 0.08 pd for progressive pairs just short
of ANSI's 3.75 D, where the switch itself is in doubt.

Which lens of an unequal pair supplies the power is not established. Each displacement is therefore found from its own
lens, direction by direction (d = 10 e / F with the power along that direction), and the pair's is their sum.
Lenses unlike in power may be off by as much to the same side: the millimetres cancel, the prism does not. So millimetres
excuse no more prism than they can make, shared between the eyes in whatever way.

Signs, for each eye: base in and towards the nose positive, base up and up positive. For the pair: the sum of both
eyes' in, and right up less left up. Prism in prism dioptres (pd), distances in mm. Errors are measured less ordered.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from optics_core._imbalance_limits import Direction, ImbalanceLimits, imbalance_limits
from optics_core._numeric import single_numbers
from optics_core._tolerance_rows import settled
from optics_core.power_vectors import PowerMatrix
from optics_core.prism import Eye, Prism, inward
from optics_core.tolerance import LensType

# Below this there is no power to speak of: nothing that can be made is so weak. [D, pd]
_NONE = 1e-9

_MATRIX = ("xx_d", "xy_d", "yy_d")


@dataclass(frozen=True, slots=True)
class EyeError:
    """How far one lens is off at its reference point.

    Prism measured less ordered, base in and base up positive [pd], None where not known. Displacement of the place
    where the prism is as ordered, in and up positive [mm], None where not known or where the lens has no power that
    way and yet a prism error. Power along each direction [D].
    """

    horizontal_pd: float | None
    vertical_pd: float | None
    in_mm: float | None
    up_mm: float | None
    horizontal_d: float
    vertical_d: float


@dataclass(frozen=True, slots=True)
class Imbalance:
    """Prism of a pair in one direction, against a limit of prism and one of displacement.

    Horizontally sums of both eyes' in, vertically right up less left up. [pd, mm]. Where the standard limits the place
    of each eye, `off_mm` is the worse eye's. Where it allows an amount of prism before it counts the displacement,
    `off_mm` is what is left of it. It is None where no such displacement explains the prism.
    """

    direction: Direction
    prism_pd: float
    limit_pd: float
    off_mm: float | None
    limit_mm: float
    source: str
    mark: Literal["read", "memory"]

    @property
    def share(self) -> float:
        """Part of the limits used up, 1 at the limit: the kinder of prism and displacement."""
        shares = [abs(self.prism_pd) / self.limit_pd]
        if self.off_mm is not None:
            shares.append(abs(self.off_mm) / self.limit_mm)
        return settled(min(shares))

    @property
    def within(self) -> bool:
        """Whether prism or displacement is no more than its limit."""
        return self.share <= 1.0


def error_of_prism(*, eye: Eye, power: PowerMatrix, measured: Prism, ordered: Prism) -> EyeError:
    """How far a lens is off whose prism was measured at the reference point.

    Parameters
    ----------
    eye : "right" or "left"
        Whose lens.
    power : PowerMatrix
        Power of the lens. [D]
    measured : Prism
        Base vector measured at the reference point. [pd]
    ordered : Prism
        Base vector ordered there. [pd]

    Returns
    -------
    EyeError
        Prism [pd] and displacement [mm] in each direction, and the power along it [D].

    Raises
    ------
    DomainError
        If a number is not a single finite one, or the eye is neither right nor left.

    Source
    ------
    long-1976, d = 10 e / F along each direction; iso-8429, directions seen from the front.
    """
    xx, _, yy = single_numbers(_MATRIX, power.xx_d, power.xy_d, power.yy_d)
    x, y = single_numbers(("x_pd", "y_pd"), measured.x_pd, measured.y_pd)
    ordered_x, ordered_y = single_numbers(("x_pd", "y_pd"), ordered.x_pd, ordered.y_pd)
    horizontal, vertical = inward(eye=eye, x=x - ordered_x), y - ordered_y
    return EyeError(horizontal, vertical, _displacement(horizontal, xx), _displacement(vertical, yy), xx, yy)


def error_of_centre(
    *, eye: Eye, power: PowerMatrix, in_mm: float | None, up_mm: float | None, ordered: Prism
) -> EyeError:
    """How far a lens is off whose optical centre was found so far in and up of the reference point.

    A direction that was not measured stays unknown. With an oblique cylinder it has a part in the prism of the other;
    there the optical centre is taken to be, in that direction, where the ordered prism asks for it.

    Parameters
    ----------
    eye : "right" or "left"
        Whose lens.
    power : PowerMatrix
        Power of the lens. [D]
    in_mm : float or None
        Optical centre less the reference point, towards the nose; None if not measured. [mm]
    up_mm : float or None
        The same, upwards; None if not measured. [mm]
    ordered : Prism
        Base vector ordered at the reference point. [pd]

    Returns
    -------
    EyeError
        Prism [pd] and displacement [mm] in each direction, and the power along it [D]. With an oblique cylinder the
        displacement is what the prism error of that direction comes to, as for prism that was measured.

    Raises
    ------
    DomainError
        If a number is not a single finite one, or the eye is neither right nor left.

    Source
    ------
    long-1976, p = F d / 10; iso-8429, directions seen from the front.
    """
    xx, xy, yy = single_numbers(_MATRIX, power.xx_d, power.xy_d, power.yy_d)
    expected = _expected_centre(power, ordered)
    expected_x, expected_y = expected or (0.0, 0.0)
    x = expected_x if in_mm is None else inward(eye=eye, x=single_numbers(("in_mm",), in_mm)[0])
    y = expected_y if up_mm is None else single_numbers(("up_mm",), up_mm)[0]
    there = Prism((xx * x + xy * y) / 10.0, (xy * x + yy * y) / 10.0)
    error = error_of_prism(eye=eye, power=power, measured=there, ordered=ordered)
    half_known = expected is not None or (in_mm is not None and up_mm is not None)
    if in_mm is None or not half_known:
        error = replace(error, horizontal_pd=None, in_mm=None)
    if up_mm is None or not half_known:
        error = replace(error, vertical_pd=None, up_mm=None)
    return error


def imbalances(
    *,
    standard: str,
    lens: LensType,
    right: EyeError,
    left: EyeError,
    prescribed_horizontal_pd: float = 0.0,
    prescribed_vertical_pd: float = 0.0,
) -> tuple[Imbalance, ...]:
    """What a pair asks of the two eyes, horizontally and vertically, against the limits of a standard.

    Parameters
    ----------
    standard : str
        One of `tolerance.standards()`.
    lens : "single_vision" or "progressive"
        Kind of lens; multifocals count as single vision.
    right : EyeError
        The right lens. [pd, mm, D]
    left : EyeError
        The left lens. [pd, mm, D]
    prescribed_horizontal_pd : float
        Horizontal component of the prescribed prism, of either sign, for standards that band by it. [pd]
    prescribed_vertical_pd : float
        The same, vertically. [pd]

    Returns
    -------
    tuple of Imbalance
        Horizontal, then vertical; a direction that is not known of both eyes is left out. [pd, mm]

    Raises
    ------
    DomainError
        If there is no table for that standard, the kind of lens is neither of the two, or a number is not finite.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, sections prism_mounted and prism_bands; derived, the sums.
    """
    prescribed = ("prescribed_horizontal_pd", "prescribed_vertical_pd")
    across, up = single_numbers(prescribed, prescribed_horizontal_pd, prescribed_vertical_pd)
    horizontal = imbalance_limits(standard, lens, "horizontal", across)
    vertical = imbalance_limits(standard, lens, "vertical", up)
    found = []
    if right.horizontal_pd is not None and left.horizontal_pd is not None:
        prism = right.horizontal_pd + left.horizontal_pd
        off = _pair_displacement(horizontal, prism, right.in_mm, left.in_mm, right.horizontal_d, left.horizontal_d)
        found.append(_imbalance("horizontal", horizontal, prism, off))
    if right.vertical_pd is not None and left.vertical_pd is not None:
        prism = right.vertical_pd - left.vertical_pd
        down = None if left.up_mm is None else -left.up_mm
        off = _pair_displacement(vertical, prism, right.up_mm, down, right.vertical_d, left.vertical_d)
        found.append(_imbalance("vertical", vertical, prism, off))
    return tuple(found)


def distance_imbalance(
    *,
    standard: str,
    lens: LensType,
    off_mm: float,
    power_right_d: float,
    power_left_d: float,
    prescribed_horizontal_pd: float = 0.0,
) -> Imbalance:
    """The horizontal imbalance where only the distance between the optical centres was measured.

    How the eyes share that error is not known. Its prism is taken to be the most it can make however it is shared out,
    which is all of it before the stronger lens. A limit for each eye cannot be tried; that for both together is.

    Parameters
    ----------
    standard : str
        One of `tolerance.standards()`.
    lens : "single_vision" or "progressive"
        Kind of lens; multifocals count as single vision.
    off_mm : float
        Distance between the optical centres, measured less expected: too far apart is positive. [mm]
    power_right_d : float
        Power of the right lens in the horizontal. [D]
    power_left_d : float
        Power of the left lens in the horizontal. [D]
    prescribed_horizontal_pd : float
        Horizontal component of the prescribed prism, of either sign, for standards that band by it. [pd]

    Returns
    -------
    Imbalance
        Prism as an amount [pd]; displacement in positive, so that centres too far apart are negative [mm].

    Raises
    ------
    DomainError
        If there is no table for that standard, the kind of lens is neither of the two, or a number is not a single
        finite one.

    Source
    ------
    tables/tolerances_<standard>_<year>.toml, sections prism_mounted and prism_bands; long-1976, p = F d / 10.
    """
    off, right, left, prescribed = single_numbers(
        ("off_mm", "power_right_d", "power_left_d", "prescribed_horizontal_pd"),
        off_mm, power_right_d, power_left_d, prescribed_horizontal_pd,
    )  # fmt: skip
    limits = imbalance_limits(standard, lens, "horizontal", prescribed)
    prism = abs(off) * max(abs(right), abs(left)) / 10.0
    return _imbalance("horizontal", replace(limits, each_mm=None), prism, limits.left_of(0.0 - off, prism))


def _displacement(error_pd: float, power_d: float) -> float | None:
    """Where the prism is as ordered; a lens without power that has the ordered prism has it everywhere."""
    if abs(power_d) < _NONE:
        return 0.0 if abs(error_pd) < _NONE else None
    return 10.0 * error_pd / power_d


def _expected_centre(power: PowerMatrix, ordered: Prism) -> tuple[float, float] | None:
    """Where the ordered prism asks the optical centre to be, as far as one direction matters to the other."""
    x, y = single_numbers(("x_pd", "y_pd"), ordered.x_pd, ordered.y_pd)
    if abs(power.xy_d) < _NONE or (x == 0.0 and y == 0.0):
        return 0.0, 0.0
    determinant = power.xx_d * power.yy_d - power.xy_d**2
    if abs(determinant) < _NONE:
        return None
    return (
        10.0 * (power.yy_d * x - power.xy_d * y) / determinant,
        10.0 * (power.xx_d * y - power.xy_d * x) / determinant,
    )


def _pair_displacement(
    limits: ImbalanceLimits,
    prism_pd: float,
    right_mm: float | None,
    left_mm: float | None,
    right_d: float,
    left_d: float,
) -> float | None:
    """The displacement that is compared: the worse eye's or the sum, less what is allowed before it counts."""
    if right_mm is None or left_mm is None:
        return None
    if limits.each_mm is not None:
        return limits.left_of(max(right_mm, left_mm, key=abs), prism_pd)
    most = limits.plus_pd + limits.pair_mm * max(abs(right_d), abs(left_d)) / 10.0
    if settled(abs(prism_pd)) > settled(most):
        return None
    return limits.left_of(right_mm + left_mm, prism_pd)


def _imbalance(direction: Direction, limits: ImbalanceLimits, prism_pd: float, off_mm: float | None) -> Imbalance:
    limit_mm = limits.pair_mm if limits.each_mm is None else limits.each_mm
    off = None if off_mm is None else settled(off_mm)
    return Imbalance(direction, settled(prism_pd), limits.prism_pd, off, limit_mm, limits.source, limits.mark)
