"""Trace files: the outline of a lens as a tracer measured it and a shop saved it.

Read are JSON and plain columns. What was taken or set aside is a remark; what can be read in two ways is not read. Whether
the figures make a lens shape is for others: here it is only asked that they can be lengths in mm.
"""

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from service.contract.trace import LARGEST_RADIUS_MM
from service.limits import MAX_TRACE_FILE_CHARACTERS, MAX_TRACE_POINTS
from service.reading.trace_columns import read_columns
from service.reading.trace_json import looks_like_json, read_json
from service.reading.trace_remarks import (
    REMARKS,
    TraceReading,
    TraceRemark,
    is_refusal,
    quoted,
    refused,
    shortened,
    trace_remark,
)

__all__ = ["READERS", "REMARKS", "TraceReader", "TraceReading", "TraceRemark", "trace_from"]

# Three points span an area. Whether there are enough to judge a lens shape is asked where it is judged.
_LEAST_POINTS: Final = 3
# No lens measures less than the one or more than the other, anywhere, from its middle. Common practice, no source.
_SMALLEST_MM: Final = 5.0
_LARGEST_MM: Final = 200.0
# Half of a large lens: what the longest radius may be. Common practice, no source.
_LIKELY_MM: Final = 40.0
_LIMIT: Final = f"{LARGEST_RADIUS_MM:g}"
# A record such as those of the interchange format: a name in letters, then an equals sign.
_LABELLED: Final = re.compile(r"^[ \t\ufeff]*[A-Za-z]\w*[ \t]*=.*", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class TraceReader:
    """One form of trace file: its name, how it is known, and how it is read.

    A reader raises nothing, and looks at any text that it recognises.
    """

    name: str
    recognises: Callable[[str], bool]
    read: Callable[[str], TraceReading]


def _has_labelled_records(text: str) -> bool:
    return _LABELLED.search(text) is not None


def _refuse_labelled_records(text: str) -> TraceReading:
    found = _LABELLED.search(text)
    if found is None:
        return refused([trace_remark("trace-file-empty")])
    line = text.count("\n", 0, found.start()) + 1
    return refused([trace_remark("trace-file-labelled-records", line, said=quoted(found[0]))])


# Tried in order; the first that recognises a text reads it.
READERS: Final[tuple[TraceReader, ...]] = (
    TraceReader("json", looks_like_json, read_json),
    # The industry's interchange format is known by its labels and refused, since its published text could not be read for
    # this service. Whoever has the text writes a reader in a module of its own and puts it here in place of the refusal.
    TraceReader("labelled-records", _has_labelled_records, _refuse_labelled_records),
    TraceReader("columns", lambda _: True, read_columns),
)


def trace_from(text: str, *, most_points: int = MAX_TRACE_POINTS) -> TraceReading:
    """The outline in the text of a trace file; no text raises."""
    if len(text) > MAX_TRACE_FILE_CHARACTERS:
        count, limit = f"{len(text):,}", f"{MAX_TRACE_FILE_CHARACTERS:,}"
        return refused([trace_remark("trace-file-too-long", count=count, limit=limit)])
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if "\0" in plain:
        line = plain.count("\n", 0, plain.index("\0")) + 1
        return refused([trace_remark("trace-file-not-text", line)])
    reading = next(reader for reader in READERS if reader.recognises(plain)).read(plain)
    if any(is_refusal(remark) for remark in reading.remarks):
        return refused(shortened(reading.remarks))
    if fault := _unfit(reading, most_points):
        return refused([*reading.remarks, fault])
    return reading


def _unfit(reading: TraceReading, most_points: int) -> TraceRemark | None:
    """What keeps the figures from being an outline in mm, whatever its shape."""
    count = len(reading.radii_mm) + len(reading.points_mm)
    if count < _LEAST_POINTS:
        return trace_remark("trace-file-too-few", count=str(count), limit=str(_LEAST_POINTS))
    if count > most_points:
        return trace_remark("trace-file-too-many", count=f"{count:,}", limit=f"{most_points:,}")
    sizes = reading.radii_mm or _sizes(reading.points_mm)
    if max(sizes) < _SMALLEST_MM or min(sizes) > _LARGEST_MM:
        return trace_remark(
            "trace-file-not-millimetres",
            least=f"{min(sizes):.6g}",
            most=f"{max(sizes):.6g}",
            small=f"{_SMALLEST_MM:g}",
            large=f"{_LARGEST_MM:g}",
            perhaps=_perhaps(max(sizes)),
        )
    return _too_large(reading)


def _perhaps(largest: float) -> str:
    """The unit in which the largest size would be one of a lens."""
    if largest < _SMALLEST_MM:
        return "centimetres or inches"
    for name, per_mm in (("tenths", 10), ("hundredths", 100), ("thousandths", 1000)):
        if largest / per_mm <= _LIKELY_MM:
            return f"{name} of a millimetre"
    return "another unit"


def _sizes(points: Iterable[tuple[float, float]]) -> tuple[float, ...]:
    """Distances from the middle of the box: an outline may be given from a corner of it."""
    x, y = zip(*points, strict=True)
    middle_x, middle_y = (min(x) / 2 + max(x) / 2), (min(y) / 2 + max(y) / 2)
    return tuple(math.hypot(one - middle_x, other - middle_y) for one, other in zip(x, y, strict=True))


def _too_large(reading: TraceReading) -> TraceRemark | None:
    """What is said of the first figure that a trace may not have: a lost decimal point, mostly."""
    for number, radius in enumerate(reading.radii_mm, 1):
        if radius > LARGEST_RADIUS_MM:
            place = f"Radius {number} of {len(reading.radii_mm)}"
            return trace_remark("trace-file-figure-too-large", place=place, said=f"{radius:.6g}", limit=_LIMIT)
    for number, (x, y) in enumerate(reading.points_mm, 1):
        if max(abs(x), abs(y)) > LARGEST_RADIUS_MM:
            place, said = f"Point {number} of {len(reading.points_mm)}", f"{x:.6g}, {y:.6g}"
            return trace_remark("trace-file-figure-too-large", place=place, said=said, limit=_LIMIT)
    return None
