"""Columns of numbers to an outline: radii at equal angles, points, or angles with radii.

Angles and radii go into points by x = r cos θ, y = r sin θ, with θ counter-clockwise from +x. Angles that go round once
from 0 in equal steps say no more than their number, so the radii are kept as they stand.

Without names two columns are read only where they can be one thing. The outline goes round the origin, so both x and y
take both signs. A radius has one sign: where both columns change theirs, they are points. Angles once round from 0 in
equal steps are all on one side of 0, so they cannot be the x of such points.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from service.reading.trace_names import Header
from service.reading.trace_numbers import Columns, columns_in
from service.reading.trace_remarks import TraceReading, TraceRemark, named, refused, trace_remark

# Angles rounded to two decimals are taken for equal steps: at 35 mm that moves a point by 0.006 mm, less than a tracer can
# tell. Common practice, no source.
_SAME_ANGLE_DEG: Final = 0.01
_TURN_DEG: Final = 360.0
# A gap between the last angle and the first that is wider than this many of the widest steps is a part left out. Common
# practice, no source.
_WIDEST_GAP: Final = 2.0

_Polar = list[tuple[int, float, float]]  # line, angle in degrees, radius in mm


def read_columns(text: str) -> TraceReading:
    """The outline in a text of lines and columns."""
    found = columns_in(text)
    if found.faults:
        return refused(found.faults)
    if not found.lines:  # a header and nothing below it: an outline of no points, to be judged like any other
        return TraceReading("points")
    notes = _set_aside(found.header)
    quantities = found.header.quantities if found.header is not None else ()
    if len(found.columns) == 1:
        return _radii(found, notes)
    if quantities == ("x", "y"):
        return _points(found, notes)
    if quantities == ("angle", "radius"):
        return _polar(_rows(found, is_in_radians=found.header is not None and found.header.is_in_radians), notes)
    return _without_names(found)


def _set_aside(header: Header | None) -> list[TraceRemark]:
    if header is None or not header.set_aside:
        return []
    # Beside a lone radius the angles may stand under a name that is not known here.
    code = "trace-file-figures-set-aside" if header.quantities == ("radius",) else "trace-file-set-aside"
    return [trace_remark(code, header.line, names=named(header.set_aside))]


def _radii(found: Columns, notes: list[TraceRemark]) -> TraceReading:
    (radii,) = found.columns
    if faults := [_not_positive(line, radius) for line, radius in zip(found.lines, radii, strict=True) if radius <= 0]:
        return refused([*notes, *faults])
    if not notes:
        notes = [trace_remark("trace-file-equal-angles-taken", count=str(len(radii)))]
    return TraceReading("radii", radii_mm=radii, remarks=tuple(notes))


def _points(found: Columns, notes: Sequence[TraceRemark] = ()) -> TraceReading:
    x, y = found.columns
    return TraceReading("points", points_mm=tuple(zip(x, y, strict=True)), remarks=tuple(notes))


def _rows(found: Columns, *, is_in_radians: bool = False) -> _Polar:
    angles, radii = found.columns
    if is_in_radians:
        angles = tuple(math.degrees(angle) for angle in angles)
    return list(zip(found.lines, angles, radii, strict=True))


def _without_names(found: Columns) -> TraceReading:
    first, second = found.columns
    if _changes_sign(first) and _changes_sign(second):
        return _points(found)
    if _is_equal_turn(first) and min(second) > 0:
        return _polar(_rows(found), [trace_remark("trace-file-polar-inferred", found.lines[0])])
    line = found.lines[0]
    return refused([trace_remark("trace-file-columns-not-clear", line, count="2", first=str(line))])


def _changes_sign(figures: Sequence[float]) -> bool:
    return min(figures) < 0 < max(figures)


def _is_equal_turn(angles_deg: Sequence[float]) -> bool:
    """Whether angles go round once from 0 in equal steps."""
    step = _TURN_DEG / len(angles_deg)
    return all(abs(angle - step * number) <= _SAME_ANGLE_DEG for number, angle in enumerate(angles_deg))


# Angles and radii.


def _polar(rows: _Polar, notes: list[TraceRemark]) -> TraceReading:
    if faults := [_not_positive(line, radius) for line, _, radius in rows if radius <= 0] or _out_of_order(rows):
        return refused([*notes, *faults])
    (_, first, _), (line, last, _) = rows[0], rows[-1]
    if last < first:
        notes = [*notes, trace_remark("trace-file-clockwise", line, from_angle=_shown(first), to_angle=_shown(last))]
        rows = rows[::-1]
    if abs(last - first) >= _TURN_DEG - _SAME_ANGLE_DEG and len(rows) > 1:
        closing = _closing(rows)
        if closing.code == "trace-file-closing-differs":
            return refused([*notes, closing])
        notes = [*notes, closing]
        rows = rows[:-1]
    if gap := _gap(rows):
        return refused([*notes, gap])
    angles, radii = [angle for _, angle, _ in rows], tuple(radius for _, _, radius in rows)
    if _is_equal_turn(angles):
        return TraceReading("radii", radii_mm=radii, remarks=tuple(notes))
    turned = [math.radians(angle) for angle in angles]
    points = tuple((r * math.cos(turn), r * math.sin(turn)) for turn, r in zip(turned, radii, strict=True))
    return TraceReading("points", points_mm=points, remarks=tuple(notes))


def _not_positive(line: int, radius: float) -> TraceRemark:
    return trace_remark("trace-file-radius-not-positive", line, said=_shown(radius))


def _out_of_order(rows: _Polar) -> list[TraceRemark]:
    """What is said of angles that are beyond a turn, or that neither only rise nor only fall."""
    first = rows[0][1]
    faults = [
        trace_remark("trace-file-angle-beyond-turn", line, said=_shown(angle))
        for line, angle, _ in rows
        if max(abs(angle), abs(angle - first)) > _TURN_DEG + _SAME_ANGLE_DEG
    ]
    rises = len(rows) > 1 and rows[1][1] > first
    for (_, before, _), (line, angle, _) in pairwise(rows):
        if angle == before or (angle > before) != rises:
            faults.append(
                trace_remark("trace-file-angles-not-in-order", line, said=_shown(angle), before=_shown(before))
            )
    return faults


def _closing(rows: _Polar) -> TraceRemark:
    """What is said of rising angles whose last is the first again, one turn on."""
    first, (line, _, last) = rows[0][2], rows[-1]
    if first == last:
        return trace_remark("trace-file-closing-set-aside", line)
    return trace_remark("trace-file-closing-differs", line, said=_shown(last), other=_shown(first))


def _gap(rows: _Polar) -> TraceRemark | None:
    """What is said of rising angles that leave out a part of the turn between the last and the first."""
    widest = max((after - before for (_, before, _), (_, after, _) in pairwise(rows)), default=_TURN_DEG)
    gap = rows[0][1] + _TURN_DEG - rows[-1][1]
    if gap <= _WIDEST_GAP * widest + _SAME_ANGLE_DEG:
        return None
    return trace_remark("trace-file-turn-not-whole", gap=_shown(gap), step=_shown(widest))


def _shown(figure: float) -> str:
    return f"{figure:.10g}"
