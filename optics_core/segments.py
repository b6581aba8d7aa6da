# mypy: disable-error-code="no-any-return"
"""Lenses with a part for reading: where the part lies, whether there is room for it, and what it does to the sight.

A bifocal's or trifocal's segment is fixed on the blank: its middle so far in and its top so far below the blank's
middle. To bring the segment where it is ordered, the blank must move; where its middle then falls decides whether the
blank is large enough. A progressive lens needs room below the fitting point for its corridor and a near zone.

The segment is a small lens of power add with an optical centre of its own. On crossing its top the image jumps by
add x distance to that centre (Prentice); below, its prism and that of the distance lens add up. Two lenses of unlike
power in the vertical make unlike prism at the reading depth; base up, worked on the lens that is most minus or least
plus there (slab-off), evens it out.

Signs: seen from the front, boxed centre as origin. For one eye without a side, in (nasal) and up are positive; with
x and y, x to the observer's right. The base vector points to the base. Lengths in mm, prism in pd.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optics_core._body import ABOVE_1
from optics_core._boxes import ABOVE_ZERO, NOT_NEGATIVE, demand_frame, inward_offset
from optics_core._lens import LENS, checked_lens
from optics_core._numeric import Array, Number, Numbers, demand, numbers, single_numbers
from optics_core.outline import checked_outline
from optics_core.power_vectors import PowerVector
from optics_core.prism import Eye, Prism, combined, prism_from_decentration

BESIDE_THE_OUTLINE = "A place between the leftmost and the rightmost point of the outline is expected."

_FRAME = ("a_mm", "b_mm", "dbl_mm", "near_pd_mm", "segment_height_mm")
_ON_BLANK = ("segment_in_mm", "segment_up_mm", "blank_segment_in_mm", "blank_segment_drop_mm")
_PROGRESSIVE = ("b_mm", "fitting_height_mm", "corridor_mm", "near_zone_mm")
_ADDED_LENS = (*LENS, "add_d", "x_mm", "y_mm", "segment_x_mm", "segment_y_mm")
_GAZE = ("right_m_d", "right_j0_d", "right_j45_d", "left_m_d", "left_j0_d", "left_j45_d", "x_mm", "y_mm", "inset_mm")


@dataclass(frozen=True, slots=True)
class Place:
    """A place from the boxed centre: in (nasal) and up positive. [mm]"""

    in_mm: float
    up_mm: float


@dataclass(frozen=True, slots=True)
class ProgressiveRoom:
    """Room in the box above and below the fitting point, and what corridor and near zone leave of it. [mm]"""

    above_mm: float
    below_mm: float
    spare_mm: float


def total_inset(*, frame_pd_mm: Number, near_pd_mm: Number) -> Number:
    """From the boxed centre to the reading part of each eye, (frame PD - near PD) / 2 with the near PD of both eyes.

    Parameters
    ----------
    frame_pd_mm : float or array
        Distance between the boxed centres, above 0. [mm]
    near_pd_mm : float or array
        Near PD of both eyes together, above 0. [mm]

    Returns
    -------
    float or array
        Inset of each eye from the boxed centre, in positive. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or not above 0.

    Source
    ------
    common-practice, total inset = decentration + segment inset.
    """
    _, frame, near = numbers(("frame_pd_mm", "near_pd_mm"), frame_pd_mm, near_pd_mm)
    demand(frame > 0.0, argument="frame_pd_mm", rule=ABOVE_ZERO, value=frame)
    demand(near > 0.0, argument="near_pd_mm", rule=ABOVE_ZERO, value=near)
    return (frame - near) / 2.0


def segment_place(
    *, a_mm: Numbers, b_mm: Numbers, dbl_mm: Numbers, near_pd_mm: Numbers, segment_height_mm: Numbers
) -> Place:
    """Where the middle of the segment's top is to lie in the frame, for one eye.

    Parameters
    ----------
    a_mm : float or array
        Boxed width, above 0. [mm]
    b_mm : float or array
        Boxed height, above 0. [mm]
    dbl_mm : float or array
        Distance between lenses, 0 or more. [mm]
    near_pd_mm : float or array
        Near PD of this eye from the middle of the bridge, above 0. [mm]
    segment_height_mm : float or array
        Height of the segment's top above the lowest tangent of the lens shape, 0 or more. [mm]

    Returns
    -------
    Place
        From the boxed centre: total inset, and height above the centre line, mostly negative. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    iso-8624, boxed centre; common-practice, segment height from the lowest tangent.
    """
    _, a, b, dbl, near, height = numbers(_FRAME, a_mm, b_mm, dbl_mm, near_pd_mm, segment_height_mm)
    demand_frame(a, dbl)
    demand(b > 0.0, argument="b_mm", rule=ABOVE_ZERO, value=b)
    demand(near > 0.0, argument="near_pd_mm", rule=ABOVE_ZERO, value=near)
    demand(height >= 0.0, argument="segment_height_mm", rule=NOT_NEGATIVE, value=height)
    return Place(inward_offset(a, dbl, near), height - b / 2.0)


def blank_middle(
    *,
    segment_in_mm: Numbers,
    segment_up_mm: Numbers,
    blank_segment_in_mm: Numbers,
    blank_segment_drop_mm: Numbers,
) -> Place:
    """Where the blank's middle falls when its segment lies where it is ordered.

    Parameters
    ----------
    segment_in_mm : float or array
        Ordered place of the middle of the segment's top from the boxed centre, in positive. [mm]
    segment_up_mm : float or array
        The same, up positive. [mm]
    blank_segment_in_mm : float or array
        On the blank: middle of the segment's top from the blank's middle, in positive. [mm]
    blank_segment_drop_mm : float or array
        The same, down positive. [mm]

    Returns
    -------
    Place
        The blank's middle from the boxed centre; the way from the middle to the centre is its opposite. [mm]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    memory, Brooks, Essentials of Ophthalmic Lens Finishing; derived, the segment's place less its place on the blank.
    """
    _, inward, upward, blank_in, blank_drop = numbers(
        _ON_BLANK, segment_in_mm, segment_up_mm, blank_segment_in_mm, blank_segment_drop_mm
    )
    return Place(inward - blank_in, upward + blank_drop)


def progressive_room(
    *, b_mm: Numbers, fitting_height_mm: Numbers, corridor_mm: Numbers, near_zone_mm: Numbers
) -> ProgressiveRoom:
    """Room for a progressive lens in a frame, by its boxed height alone.

    Parameters
    ----------
    b_mm : float or array
        Boxed height, above 0. [mm]
    fitting_height_mm : float or array
        Height of the fitting point above the lowest tangent of the lens shape. [mm]
    corridor_mm : float or array
        From the fitting point down to where the reading power is reached, 0 or more. [mm]
    near_zone_mm : float or array
        Height wanted for the near zone below that, 0 or more. [mm]

    Returns
    -------
    ProgressiveRoom
        Above the fitting point, below it, and below the near zone; what is negative is lacking. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    2020mag, Nov 2015, fitting height = corridor + 4 to 5 mm of near zone; derived, the differences.
    """
    _, b, height, corridor, zone = numbers(_PROGRESSIVE, b_mm, fitting_height_mm, corridor_mm, near_zone_mm)
    demand(b > 0.0, argument="b_mm", rule=ABOVE_ZERO, value=b)
    demand(corridor >= 0.0, argument="corridor_mm", rule=NOT_NEGATIVE, value=corridor)
    demand(zone >= 0.0, argument="near_zone_mm", rule=NOT_NEGATIVE, value=zone)
    return ProgressiveRoom(b - height, height + 0.0, height - corridor - zone)


def vertical_room(points: Array, *, x_mm: Numbers, y_mm: Numbers) -> tuple[Numbers, Numbers]:
    """Room straight above and straight below a place to the outline: what a box promises, an outline may not hold.

    Parameters
    ----------
    points : array of shape (n, 2)
        Outline about the boxed centre, at least three points in order round. [mm]
    x_mm : float or array
        The place, to the observer's right, within the outline's width. [mm]
    y_mm : float or array
        The same, upwards. [mm]

    Returns
    -------
    tuple of two floats or arrays
        From the place up to the outline's highest point over it, and down to the lowest; negative beyond it. [mm]

    Raises
    ------
    DomainError
        If a number is not finite, there are fewer than three points, or the place lies beside the outline.

    Source
    ------
    derived, the outline's sides cut by the upright through the place.
    """
    outline = checked_outline(points)
    _, x, y = numbers(("x_mm", "y_mm"), x_mm, y_mm)
    across = outline[:, 0]
    demand((x >= across.min()) & (x <= across.max()), argument="x_mm", rule=BESIDE_THE_OUTLINE, value=x)
    start, end = outline, np.roll(outline, -1, axis=0)
    run = end[:, 0] - start[:, 0]
    place = np.asarray(x)[..., np.newaxis]
    spanned = (np.minimum(start[:, 0], end[:, 0]) <= place) & (place <= np.maximum(start[:, 0], end[:, 0]))
    # An upright side is met at its first end here, at the other end by the side that follows.
    share = (place - start[:, 0]) / np.where(run == 0.0, 1.0, run)
    height = start[:, 1] + np.where(run == 0.0, 0.0, share) * (end[:, 1] - start[:, 1])
    above = np.where(spanned, height, -np.inf).max(axis=-1) - y
    below = y - np.where(spanned, height, np.inf).min(axis=-1)
    return (above, below) if isinstance(x, np.ndarray) else (float(above), float(below))


def image_jump(*, add_d: Number, top_to_centre_mm: Number) -> Number:
    """Jump of the image on crossing into a segment: add x distance from its top down to its optical centre.

    A trifocal jumps twice: at the upper line by the part of the add gained there, at the lower line by the rest.

    Parameters
    ----------
    add_d : float or array
        Power gained at the line crossed. [D]
    top_to_centre_mm : float or array
        From the line down to the segment's optical centre; 0 where the centre is on the line. [mm]

    Returns
    -------
    float or array
        Jump, base down positive. [pd]

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    durham-nfos, OPH 141, lesson on image jump; derived, Prentice's rule at the segment's top.
    """
    _, add, distance = numbers(("add_d", "top_to_centre_mm"), add_d, top_to_centre_mm)
    return add * distance / 10.0


def prism_through_segment(
    *,
    sphere_d: Numbers,
    cylinder_d: Numbers,
    axis_deg: Numbers | None,
    add_d: Numbers,
    x_mm: Numbers,
    y_mm: Numbers,
    segment_x_mm: Numbers,
    segment_y_mm: Numbers,
) -> Prism:
    """Prism at a point of the segment: that of the distance lens and the segment's own together.

    Parameters
    ----------
    sphere_d : float or array
        Sphere for distance, converging positive. [D]
    cylinder_d : float or array
        Cylinder of either sign. [D]
    axis_deg : float, array or None
        Axis; None (nan within arrays) only where the cylinder is 0. [deg]
    add_d : float or array
        Addition. [D]
    x_mm : float or array
        Optical centre of the distance lens less the point looked through, to the observer's right. [mm]
    y_mm : float or array
        The same, upwards. [mm]
    segment_x_mm : float or array
        Optical centre of the segment less the point looked through, to the observer's right. [mm]
    segment_y_mm : float or array
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
    long-1976, p = F d for each of the two; derived, their sum.
    """
    _, sphere, cylinder, axis, add, x, y, segment_x, segment_y = checked_lens(
        _ADDED_LENS, sphere_d, cylinder_d, axis_deg, add_d, x_mm, y_mm, segment_x_mm, segment_y_mm
    )
    of_lens = prism_from_decentration(sphere_d=sphere, cylinder_d=cylinder, axis_deg=axis, x_mm=x, y_mm=y)
    of_segment = Prism(add * segment_x / 10.0, add * segment_y / 10.0)
    return combined((of_lens, of_segment))


def gaze_imbalance(
    *, right: PowerVector, left: PowerVector, x_mm: Numbers, y_mm: Numbers, inset_mm: float = 0.0
) -> tuple[Numbers, Numbers]:
    """Prism between the eyes when both look to one side, up or down: the same move on each lens, and so much in.

    Parameters
    ----------
    right : PowerVector
        Power of the right lens. [D]
    left : PowerVector
        Power of the left lens. [D]
    x_mm : float or array
        Where both eyes look, from their optical centres, to the observer's right. [mm]
    y_mm : float or array
        The same, upwards; negative for reading. [mm]
    inset_mm : float
        How much farther in each eye looks, for a near point. [mm]

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
    long-1976, p = F d for each eye; iso-8429, in is +x right and -x left.
    """
    parts = (right.m_d, right.j0_d, right.j45_d, left.m_d, left.j0_d, left.j45_d)
    _, rm, rj, rk, lm, lj, lk, x, y, inset = numbers(_GAZE, *parts, x_mm, y_mm, inset_mm)
    # The optical centre less the point looked through, each eye by itself.
    right_x, left_x, up = -(x + inset), -(x - inset), -y
    base_in = ((rm + rj) * right_x + rk * up) - ((lm + lj) * left_x + lk * up)
    base_up = (rk * right_x + (rm - rj) * up) - (lk * left_x + (lm - lj) * up)
    return base_in / 10.0 + 0.0, base_up / 10.0 + 0.0


def slab_off_eye(*, base_up_pd: float) -> Eye | None:
    """The eye whose lens gets the slab-off, which works base up: the one with less base up below its optical centre.

    Of lenses without unlike segments it is the one most minus or least plus in the vertical.

    Parameters
    ----------
    base_up_pd : float
        Right base up less left base up at the reading point, as of `gaze_imbalance`. [pd]

    Returns
    -------
    "right", "left" or None
        None where both are alike; a reverse slab-off, base down, goes to the other eye.

    Raises
    ------
    DomainError
        If a number is not finite.

    Source
    ------
    2020-slab-off, base up in the lens most minus or least plus in the vertical.
    """
    (base_up,) = single_numbers(("base_up_pd",), base_up_pd)
    if base_up == 0.0:
        return None
    return "right" if base_up < 0.0 else "left"


def progressive_thinning(*, add_d: Number, index: Number, depth_mm: Number, corridor_mm: Number) -> Number:
    """How much thinner a progressive lens is below its fitting point than the distance lens by itself.

    The power is taken to rise evenly along the corridor and to stay from its end on. Along the vertical the surface then
    departs from that of the distance lens by the double sum of the added curvature. A model: real designs differ, and
    where the front is flattened or the lens is given thinning prism, so does the edge.

    Parameters
    ----------
    add_d : float or array
        Reading addition. [D]
    index : float or array
        Refractive index, above 1. [1]
    depth_mm : float or array
        Vertical distance below the fitting point; above it nothing is added. [mm]
    corridor_mm : float or array
        Length over which the addition rises, above 0. [mm]

    Returns
    -------
    float or array
        What is taken off the thickness. [mm]

    Raises
    ------
    DomainError
        If a number is not finite or out of range.

    Source
    ------
    derived, the double sum of add u / L up to u = L and of the whole add beyond, over 1000 (n - 1).
    """
    library, add, n, depth, corridor = numbers(
        ("add_d", "index", "depth_mm", "corridor_mm"), add_d, index, depth_mm, corridor_mm
    )
    demand(n > 1.0, argument="index", rule=ABOVE_1, value=n)
    demand(corridor > 0.0, argument="corridor_mm", rule=ABOVE_ZERO, value=corridor)
    below = library.maximum(depth, 0.0)
    within, beyond = library.minimum(below, corridor), library.maximum(below - corridor, 0.0)
    # Within the corridor v^3 / (6 L); beyond it v L / 2 - L^2 / 3 + (v - L)^2 / 2.
    rising = within * within * within / (6.0 * corridor)
    summed = rising + beyond * corridor / 2.0 + beyond * beyond / 2.0
    return add * summed / (1000.0 * (n - 1.0))
