# mypy: disable-error-code="no-any-return"
"""Prism: what a lens does to a ray away from its optical centre, and prism that is prescribed.

Away from the optical centre a lens acts like a prism with its base towards the centre of a plus lens and
away from the centre of a minus lens. The base vector is the power matrix times the displacement of the
optical centre from the point looked through, p = F d (Prentice's rule with a cylinder). With an oblique
cylinder a purely vertical displacement makes horizontal prism as well, so no meridian's power will do.

Signs: one plane for each lens, seen from the front, x to the observer's right, y up. The base vector points
to the base: +y is base up; +x is base in for the right lens and base out for the left. Base angles are
counter-clockwise from +x, 0 to 360, for both lenses. Prism in prism dioptres (pd: 1 cm at 1 m), distances
in mm. Thin lenses and small angles.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from optics_core._lens import LENS, checked_lens, matrix_parts
from optics_core._numeric import Number, Numbers, demand, numbers
from optics_core.errors import DomainError
from optics_core.power_vectors import PowerVector

Eye: TypeAlias = Literal["right", "left"]
Base: TypeAlias = Literal["in", "out", "up", "down"]

_LENS_AND_MOVE = (*LENS, "x_mm", "y_mm")
_LENS_AND_PRISM = (*LENS, "x_pd", "y_pd")

# A principal power this much smaller than the other is what rounding leaves of 0.
_ROUNDING = 1e-12

_BASE_ANGLES = {
    ("right", "in"): 0.0,
    ("right", "out"): 180.0,
    ("left", "in"): 180.0,
    ("left", "out"): 0.0,
    ("right", "up"): 90.0,
    ("left", "up"): 90.0,
    ("right", "down"): 270.0,
    ("left", "down"): 270.0,
}


@dataclass(frozen=True, slots=True)
class Prism:
    """Base vector of one lens: x to the observer's right, y up. [pd]"""

    x_pd: float
    y_pd: float


def prism_from_decentration(
    *, sphere_d: Numbers, cylinder_d: Numbers, axis_deg: Numbers | None, x_mm: Numbers, y_mm: Numbers
) -> Prism:
    """Prism at the point looked through when the optical centre lies elsewhere: p = F d / 10.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    x_mm : float or array
        Optical centre less the point looked through, to the observer's right. [mm]
    y_mm : float or array
        The same, upwards. [mm]

    Returns
    -------
    Prism
        Base vector. [pd]

    Raises
    ------
    DomainError
        If a number is not finite, or a cylinder other than 0 has no axis.

    Source
    ------
    long-1976, p = F d; jalie-lens-talk, Nov-Dec 2024 pp. 139-140, the same written out by components.
    """
    library, sphere, cylinder, axis, x, y = checked_lens(_LENS_AND_MOVE, sphere_d, cylinder_d, axis_deg, x_mm, y_mm)
    xx, xy, yy = matrix_parts(library, sphere, cylinder, axis)
    return Prism((xx * x + xy * y) / 10.0 + 0.0, (xy * x + yy * y) / 10.0 + 0.0)


def decentration_for_prism(
    *, sphere_d: Number, cylinder_d: Number, axis_deg: Number | None, x_pd: Number, y_pd: Number
) -> tuple[Number, Number]:
    """Displacement of the optical centre that makes a wanted prism: d = 10 F^-1 p.

    Parameters
    ----------
    sphere_d : float or array
        Sphere, converging positive, not 0. [D]
    cylinder_d : float or array
        Cylinder of either sign, not the opposite of the sphere. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    x_pd : float or array
        Wanted base vector, to the observer's right. [pd]
    y_pd : float or array
        The same, upwards. [pd]

    Returns
    -------
    tuple of two floats or arrays
        Optical centre less the point looked through: to the observer's right, upwards. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, a cylinder other than 0 has no axis, or a principal power is 0: then some
        prism cannot be made by decentration at all.

    Source
    ------
    long-1976, d = F^-1 p; jalie-lens-talk, Nov-Dec 2024 pp. 139-140.
    """
    library, along, cylinder, axis, x, y = checked_lens(_LENS_AND_PRISM, sphere_d, cylinder_d, axis_deg, x_pd, y_pd)
    across = along + cylinder
    weaker = library.minimum(abs(along), abs(across))
    demand(
        weaker > _ROUNDING * library.maximum(abs(along), abs(across)),
        argument="sphere_d",
        rule="Neither principal power (sphere, sphere + cylinder) may be 0, or decentration cannot make every prism.",
        value=along,
    )
    # In the lens's own meridians the matrix is diagonal: turn, divide, turn back.
    sine, cosine = library.sine_and_cosine(axis)
    d_along = 10.0 * (x * cosine + y * sine) / along
    d_across = 10.0 * (y * cosine - x * sine) / across
    return d_along * cosine - d_across * sine + 0.0, d_along * sine + d_across * cosine + 0.0


def base_angle(*, eye: Eye, base: Base) -> float:
    """Angle of a base direction: in is 0 for the right lens and 180 for the left.

    Parameters
    ----------
    eye : "right" or "left"
        Whose lens.
    base : "in", "out", "up" or "down"
        Direction of the base.

    Returns
    -------
    float
        Base angle, counter-clockwise from +x. [deg]

    Raises
    ------
    DomainError
        If the eye or the base is none of these words.

    Source
    ------
    iso-8429, prism base 0 to 360, alike for both eyes.
    """
    _demand_eye(eye)
    if base not in ("in", "out", "up", "down"):
        raise DomainError("base", "One of in, out, up or down is expected.", base)
    return _BASE_ANGLES[eye, base]


def prism_from_base(*, amount_pd: Numbers, base_deg: Numbers) -> Prism:
    """Base vector of a prism given by amount and base angle.

    Parameters
    ----------
    amount_pd : float or array
        Amount, 0 or more. [pd]
    base_deg : float or array
        Base angle, counter-clockwise from +x; whole turns do not matter. [deg]

    Returns
    -------
    Prism
        Base vector. [pd]

    Raises
    ------
    DomainError
        If a number is not finite, or the amount is negative.

    Source
    ------
    durham-nfos, Optics II, resolving prism.
    """
    library, amount, base = numbers(("amount_pd", "base_deg"), amount_pd, base_deg)
    demand(amount >= 0.0, argument="amount_pd", rule="An amount of 0 or more is expected.", value=amount)
    sine, cosine = library.sine_and_cosine(base)
    return Prism(amount * cosine + 0.0, amount * sine + 0.0)


def combined(prisms: Iterable[Prism]) -> Prism:
    """Several prisms before one eye as one: the sum of the base vectors.

    Parameters
    ----------
    prisms : iterable of Prism
        Base vectors, [pd]; none at all make no prism.

    Returns
    -------
    Prism
        Their sum. [pd]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    durham-nfos, Optics II, resultant prism.
    """
    x_sum: Any = 0.0
    y_sum: Any = 0.0
    for prism in prisms:
        _, x, y = numbers(("x_pd", "y_pd"), prism.x_pd, prism.y_pd)
        x_sum, y_sum = x_sum + x, y_sum + y
    return Prism(x_sum, y_sum)


def amount_and_base(*, x_pd: Number, y_pd: Number) -> tuple[Number, Number]:
    """Amount and base angle of a base vector.

    Parameters
    ----------
    x_pd : float or array
        Base vector, to the observer's right. [pd]
    y_pd : float or array
        The same, upwards. [pd]

    Returns
    -------
    tuple of two floats or arrays
        Amount [pd] and base angle in [0, 360), counter-clockwise from +x [deg]; the angle of no prism is 0.

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    durham-nfos, Optics II, resultant prism.
    """
    library, x, y = numbers(("x_pd", "y_pd"), x_pd, y_pd)
    # Adding 0 makes -0 into 0, so that no prism has base 0 and not 180.
    base = library.degrees(library.atan2(y + 0.0, x + 0.0)) % 360.0
    return library.hypot(x, y), library.where(base < 360.0, base, 0.0)


def inward(*, eye: Eye, x: Number) -> Number:
    """A horizontal component with its sign changed so that in (nasal) is positive.

    It works for prism and for distances, and it is its own inverse.

    Parameters
    ----------
    eye : "right" or "left"
        Whose lens.
    x : float or array
        Component to the observer's right. [pd or mm]

    Returns
    -------
    float or array
        The same component, in positive, out negative. [pd or mm]

    Raises
    ------
    DomainError
        If the number is not finite, or the eye is neither right nor left.

    Source
    ------
    iso-8429, directions seen from the front: nasal is +x for the right lens, -x for the left.
    """
    _demand_eye(eye)
    _, value = numbers(("x",), x)
    return value + 0.0 if eye == "right" else 0.0 - value


def pair_imbalance(*, right: Prism, left: Prism) -> tuple[float, float]:
    """What a pair asks of the two eyes together.

    Horizontally, in with in and out with out add up. Vertically, up before one eye and down before the
    other add up, while up with up moves both eyes alike and asks nothing of the pair.

    Parameters
    ----------
    right : Prism
        Base vector of the right lens. [pd]
    left : Prism
        Base vector of the left lens. [pd]

    Returns
    -------
    tuple of two floats or arrays
        Sum of both eyes' base in (out negative); right base up less left base up. [pd]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    derived, from the directions of iso-8429: in is +x right and -x left.
    """
    _, right_x, right_y, left_x, left_y = numbers(
        ("right_x_pd", "right_y_pd", "left_x_pd", "left_y_pd"), right.x_pd, right.y_pd, left.x_pd, left.y_pd
    )
    return right_x - left_x, right_y - left_y


def vertical_imbalance(*, right: PowerVector, left: PowerVector, level_mm: Number) -> Number:
    """Vertical prism between the eyes when both look so far above or below the optical centres.

    The vertical part of F d for a vertical d alone: the difference of the powers in the vertical, M - J0.

    Parameters
    ----------
    right : PowerVector
        Power of the right lens. [D]
    left : PowerVector
        Power of the left lens. [D]
    level_mm : float or array
        Distance from the optical centres, up or down. [mm]

    Returns
    -------
    float or array
        Amount of the imbalance. [pd]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    long-1976, p = F d; 2020mag, measuring the reading level.
    """
    _, right_m, right_j0, left_m, left_j0, level = numbers(
        ("right_m_d", "right_j0_d", "left_m_d", "left_j0_d", "level_mm"),
        right.m_d,
        right.j0_d,
        left.m_d,
        left.j0_d,
        level_mm,
    )
    return abs((right_m - right_j0) - (left_m - left_j0)) * abs(level) / 10.0


def shared_between_eyes(*, right: Prism, left: Prism, right_share: float = 0.5) -> tuple[Prism, Prism]:
    """The same effect for the pair, shared anew between the eyes: 5 up R and 1 down L are 3 up R and 3 down L.

    Only what `pair_imbalance` sees is kept. Prism that moves both eyes alike (up with up, right with right)
    asks nothing of the pair and is not carried over.

    Parameters
    ----------
    right : Prism
        Base vector of the right lens. [pd]
    left : Prism
        Base vector of the left lens. [pd]
    right_share : float
        Part of the whole for the right eye, 0 to 1. [1]

    Returns
    -------
    tuple of two Prisms
        New base vectors, right and left. [pd]

    Raises
    ------
    DomainError
        If a number is not finite, or the share is not within 0 to 1.

    Source
    ------
    common-practice, sharing of prescribed prism; derived, the sums.
    """
    _, share = numbers(("right_share",), right_share)
    demand((share >= 0.0) & (share <= 1.0), argument="right_share", rule="A share of 0 to 1 is expected.", value=share)
    horizontal, vertical = pair_imbalance(right=right, left=left)
    new_right = Prism(horizontal * share + 0.0, vertical * share + 0.0)
    return new_right, Prism(new_right.x_pd - horizontal, new_right.y_pd - vertical)


def _demand_eye(eye: str) -> None:
    if eye not in ("right", "left"):
        raise DomainError("eye", "Either right or left is expected.", eye)
