"""From the contract's readings to core values. Nothing is filled in and nothing is altered."""

from service.contract.measured import Measured, MeasuredEye
from service.contract.measured import Readings as Given
from service.values import EyeName
from service.values_measured import LensReadings, PairReadings, Readings

# Members of one lens that hold a quantity by themselves.
_OTHERS = (
    "add",
    "segment_height_mm",
    "segment_from_bridge_mm",
    "segment_tilt_deg",
    "fitting_point_height_mm",
    "fitting_point_from_bridge_mm",
    "marks_tilt_deg",
    "centre_thickness_mm",
    "front_power_d",
    "warpage_d",
)


def pair_readings(measured: Measured) -> PairReadings:
    """The readings of a finished pair."""
    from_bridge, heights = measured.optical_centre_from_bridge_mm, measured.optical_centre_height_mm
    return PairReadings(
        right=_lens("right", measured.right),
        left=_lens("left", measured.left),
        centre_distances_mm=_each(measured.optical_centre_distance_mm),
        right_from_bridge_mm=_each(from_bridge.right),
        left_from_bridge_mm=_each(from_bridge.left),
        right_heights_mm=_each(heights.right),
        left_heights_mm=_each(heights.left),
    )


def _lens(eye: EyeName, given: MeasuredEye) -> LensReadings:
    return LensReadings(
        eye=eye,
        pointer=f"/measured/{eye}",
        spheres_d=_each(given.sphere),
        cylinders_d=_each(given.cylinder),
        axes_deg=_each(given.axis),
        prism=None if given.prism is None else tuple((_each(part.amount), part.base) for part in given.prism),
        others={name: read for name in _OTHERS if (read := _each(getattr(given, name)))},
    )


def _each(given: Given | None) -> Readings:
    if given is None:
        return ()
    return tuple(given) if isinstance(given, list) else (given,)
