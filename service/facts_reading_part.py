"""Where the reading part of a lens lies in its frame and on its blank, and whether there is room for it."""

from dataclasses import dataclass

from optics_core.boxing import decentration_in
from optics_core.errors import DomainError
from optics_core.near import near_pd_through_lens
from optics_core.prism import inward
from optics_core.segments import Place, blank_middle, image_jump, segment_place, vertical_room
from service.facts_place import EyePlace
from service.facts_prescription import EyePower
from service.facts_trace import EyeOutline
from service.profile.loader import Limits
from service.rounding import settled
from service.values import EyeName, OrderValues
from service.values_near import NearPdValues, NearValues, rotation_centre_mm


@dataclass(frozen=True, slots=True)
class SegmentEye:
    """Segment of one eye: its place from the boxed centre, lens below and above its top, and where the blank then lies.

    Heights are told from the lowest point of the frame's shape, as those of the pupils are. How far its top and its optical
    centre lie below the pupil is None where that is not known.
    """

    height_mm: float
    lens_height_mm: float
    pupil_height_mm: float | None
    below_pupil_mm: float | None
    centre_below_pupil_mm: float | None
    place: Place
    depth_mm: float
    least_depth_mm: float
    depth_key: str
    room_above_mm: float
    image_jump_pd: float | None
    blank_middle: Place | None

    @property
    def inside(self) -> bool:
        """Whether the segment's top lies within the lens's height."""
        return 0 < self.height_mm < self.lens_height_mm


@dataclass(frozen=True, slots=True)
class ProgressiveEye:
    """Height wanted below the fitting point and what there is, where the near zone lies; None without a height."""

    least_height_mm: float
    given: bool
    room_below_mm: float | None
    room_above_mm: float | None
    spare_mm: float | None


def segment_middle(
    power: EyePower, outline: EyeOutline | None, values: OrderValues, limits: Limits
) -> tuple[float, float] | None:
    """Where the blank's middle lies, in and up from the boxed centre, with its segment where it is ordered.

    None where the lens has no segment, or its place in the frame or on the blank is not known.
    """
    near = values.near
    if near is None or near.segment is None:
        return None
    place = _segment_place(power, outline, values, near, limits)
    middle = None if place is None else _blank_middle(place, near)
    return None if middle is None else (middle.in_mm, middle.up_mm)


def segment_height(eye: EyeName, near: NearValues) -> float | None:
    """The segment height that was given for this eye."""
    if near.segment is None:
        return None
    return near.segment.height_right_mm if eye == "right" else near.segment.height_left_mm


def _segment_place(
    power: EyePower, outline: EyeOutline | None, values: OrderValues, near: NearValues, limits: Limits
) -> Place | None:
    segment, frame = near.segment, values.frame
    if segment is None:
        return None
    height, pd = segment_height(power.eye, near), _pd_through_lens(power, values, near, limits)
    if height is None or pd is None:
        return None
    # The eyes are measured from the frame as it is, whatever size the lens is cut to.
    a_mm, b_mm = (frame.a_mm, frame.b_mm) if outline is None else (outline.frame_a_mm, outline.frame_b_mm)
    return segment_place(a_mm=a_mm, b_mm=b_mm, dbl_mm=frame.dbl_mm, near_pd_mm=pd, segment_height_mm=height)


def _pd_through_lens(power: EyePower, values: OrderValues, near: NearValues, limits: Limits) -> float | None:
    """Where the eye looks through its lens for near: as given, or by geometry with the prism of the distance lens counted."""
    pd, far = (near.right, values.pd.right_mm) if power.eye == "right" else (near.left, values.pd.left_mm)
    if pd.taken_from != "geometry" or far is None or power.optics is None:
        return pd.pd_mm
    vector = power.optics.vector
    try:
        found = near_pd_through_lens(
            pd_mm=far,
            working_mm=near.working_mm,
            power_d=vector.m_d + vector.j0_d,
            rotation_centre_mm=rotation_centre_mm(values.vertex_worn_mm, limits),
        )
    except DomainError:
        return pd.pd_mm  # so strong a lens is not looked through so
    return settled(found)


def _blank_middle(place: Place, near: NearValues) -> Place | None:
    segment = near.segment
    if segment is None or segment.blank_in_mm is None or segment.blank_drop_mm is None:
        return None
    found = blank_middle(
        segment_in_mm=place.in_mm,
        segment_up_mm=place.up_mm,
        blank_segment_in_mm=segment.blank_in_mm,
        blank_segment_drop_mm=segment.blank_drop_mm,
    )
    return Place(settled(found.in_mm), settled(found.up_mm))


def segment_facts(
    power: EyePower,
    add_d: float | None,
    outline: EyeOutline | None,
    values: OrderValues,
    near: NearValues,
    limits: Limits,
) -> SegmentEye | None:
    """The segment of one eye; None where its height or the near PD is not known."""
    place, segment, eye = _segment_place(power, outline, values, near, limits), near.segment, power.eye
    if place is None or segment is None:
        return None
    height = segment_height(eye, near)
    pupil = values.height_right_mm if eye == "right" else values.height_left_mm
    if height is None:
        return None
    b_mm = values.frame.b_mm if outline is None else outline.frame_b_mm
    above, below = (b_mm - height, height) if outline is None else _rooms(eye, outline, place)
    to_centre = segment.top_to_centre_mm
    kind = "" if values.lens.use == "bifocal" else "trifocal_"
    usual = limits.profile.segment
    return SegmentEye(
        height_mm=height,
        lens_height_mm=b_mm,
        pupil_height_mm=pupil,
        below_pupil_mm=None if pupil is None else settled(pupil - height),
        centre_below_pupil_mm=None if pupil is None or to_centre is None else settled(pupil - height + to_centre),
        place=Place(settled(place.in_mm), settled(place.up_mm)),
        depth_mm=settled(below),
        least_depth_mm=usual.trifocal_least_depth_mm if kind else usual.least_depth_mm,
        depth_key=f"segment.{kind}least_depth_mm",
        room_above_mm=settled(above),
        # A trifocal jumps twice, and what its upper line gains is not known here.
        image_jump_pd=None
        if add_d is None or to_centre is None or values.lens.use != "bifocal"
        else settled(image_jump(add_d=add_d, top_to_centre_mm=to_centre)),
        blank_middle=_blank_middle(place, near),
    )


def _rooms(eye: EyeName, outline: EyeOutline, place: Place) -> tuple[float, float]:
    """Lens straight above and below a place; none where the place lies beside the outline."""
    try:
        above, below = vertical_room(outline.points, x_mm=inward(eye=eye, x=place.in_mm), y_mm=place.up_mm)
        return settled(float(above)), settled(float(below))
    except DomainError:
        return 0.0, 0.0


def progressive_facts(
    place: EyePlace, pd: NearPdValues, near: NearValues, values: OrderValues
) -> ProgressiveEye | None:
    """Room for a progressive lens; None for any other."""
    design = near.progressive
    if design is None:
        return None
    if place.height_mm is None or place.up_mm is None:
        return ProgressiveEye(design.least_height_mm, design.given, None, place.room_above_mm, None)
    above, below = place.room_above_mm, place.height_mm
    if place.outline is not None:
        near_in = place.in_mm
        if pd.pd_mm is not None:
            near_in = decentration_in(a_mm=place.a_mm, dbl_mm=values.frame.dbl_mm, pd_mm=pd.pd_mm)
        above, _ = _rooms(place.eye, place.outline, Place(place.in_mm, place.up_mm))
        _, below = _rooms(place.eye, place.outline, Place(near_in, place.up_mm))
    return ProgressiveEye(design.least_height_mm, design.given, below, above, settled(below - design.least_height_mm))
