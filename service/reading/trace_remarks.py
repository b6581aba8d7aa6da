"""What was read from a trace file, and remarks on what was refused, taken or set aside.

A sentence says what was read, what is expected and what to do. `place` and the other {words} stand in the remark itself;
what is quoted from the file is cut to 40 characters.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from service.contract.answer import Severity
from service.reading.cell_remarks import said

# More faults than these are counted and not listed: the first few show what is wrong with the file.
MOST_FAULTS: Final = 20
_MOST_NAMES: Final = 5


@dataclass(frozen=True, slots=True)
class TraceRemark:
    """One thing to say about a trace file; `line` is counted from 1, None where it is the file as a whole."""

    code: str
    line: int | None
    words: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class TraceReading:
    """An outline as a file gives it, in mm, as seen from the front; `form` is None where it was not read.

    Radii stand at equal angles, counter-clockwise, beginning at +x. Points are x to the observer's right, y up.
    """

    form: Literal["radii", "points"] | None
    radii_mm: tuple[float, ...] = ()
    points_mm: tuple[tuple[float, float], ...] = ()
    remarks: tuple[TraceRemark, ...] = ()


def trace_remark(code: str, line: int | None = None, *, place: str = "", **words: str) -> TraceRemark:
    """A remark with its place in words: the one given, or the line, or the file."""
    return TraceRemark(code, line, {"place": place or ("The file" if line is None else f"Line {line}"), **words})


def refused(remarks: Iterable[TraceRemark]) -> TraceReading:
    """A file that was not read, and why."""
    return TraceReading(None, remarks=tuple(remarks))


def is_refusal(remark: TraceRemark) -> bool:
    """Whether a remark keeps the file from being read."""
    return REMARKS[remark.code][0] == "reject"


def shortened(remarks: Iterable[TraceRemark]) -> tuple[TraceRemark, ...]:
    """The remarks with the first faults only, and how many were left out."""
    kept: list[TraceRemark] = []
    faults = 0
    for remark in remarks:
        faults += is_refusal(remark)
        if faults <= MOST_FAULTS or not is_refusal(remark):
            kept.append(remark)
    if faults > MOST_FAULTS:
        kept.append(trace_remark("trace-file-more-faults", count=str(faults - MOST_FAULTS), shown=str(MOST_FAULTS)))
    return tuple(kept)


def quoted(text: str) -> str:
    """A piece of the file as it is quoted; more than is shown is never looked at."""
    return said(text[:400]) or "nothing that can be seen"


def named(names: Iterable[str]) -> str:
    """A few names of columns or members in a row; the rest are counted."""
    every = [f'"{quoted(name)}"' if name else "one without a name" for name in names]
    row = ", ".join(every[:_MOST_NAMES])
    return f"{row} and {len(every) - _MOST_NAMES} more" if len(every) > _MOST_NAMES else row


_HEADER: Final = "a header row x_mm,y_mm or angle_deg,radius_mm"

# What is said to the shop, by code: the gravity and the sentence.
REMARKS: Final[Mapping[str, tuple[Severity, str]]] = {
    # The file as a whole.
    "trace-file-too-long": (
        "reject",
        "The file has {count} characters. At most {limit} are read. Export the outline alone, as one lens.",
    ),
    "trace-file-too-much": (
        "reject",
        "The file has more than {limit} {what}. An outline has far fewer. Export the outline alone, as one lens.",
    ),
    "trace-file-not-text": (
        "reject",
        "{place} holds a character that no plain text has. A text file in UTF-8 is expected. Export the trace as CSV or "
        "JSON, or save it again as plain text.",
    ),
    "trace-file-empty": (
        "reject",
        "No figure was read in the file. One radius, or one point, a line is expected. Export the trace again.",
    ),
    "trace-file-labelled-records": (
        "reject",
        '{place}: "{said}" was read, a record of the form LABEL=value, as the industry\'s interchange format for traces '
        "has them. The published text of that format could not be read for this service, so nothing in the file is "
        "guessed at. Export the trace as JSON, or as CSV with " + _HEADER + ".",
    ),
    "trace-file-more-faults": (
        "note",
        "{count} more faults were found in the file than the {shown} listed. Correct those listed and read the file "
        "again.",
    ),
    # What the figures come to.
    "trace-file-too-few": (
        "reject",
        "{count} radii or points were read. An outline has at least {limit}, and many more as a rule. Export the trace "
        "again.",
    ),
    "trace-file-too-many": (
        "reject",
        "{count} radii or points were read. At most {limit} are taken. Export the outline with fewer.",
    ),
    "trace-file-not-millimetres": (
        "reject",
        "Every size lies between {least} and {most}, from the middle of the lens. Millimetres are expected, some of them "
        "from {small} to {large}; these look like {perhaps}. Give millimetres; nothing was converted.",
    ),
    "trace-file-figure-too-large": (
        "reject",
        "{place} is {said}. At most {limit} mm from the origin is taken. Check that figure, and its decimal point.",
    ),
    "trace-file-radius-not-positive": (
        "reject",
        '{place}: the radius "{said}" was read. A radius above 0 mm is expected. Correct it, or name the columns x_mm and '
        "y_mm if these are points.",
    ),
    # JSON.
    "trace-file-json-syntax": (
        "reject",
        '{place}: "{said}" was read where the text stops being JSON. Correct the text there, or export the trace again.',
    ),
    "trace-file-json-too-deep": (
        "reject",
        "{place}: lists or objects are nested more than {limit} deep. A list of radii or of points is expected. Send the "
        "outline alone.",
    ),
    "trace-file-json-value": (
        "reject",
        "{place}: {said} was read. {expected} is expected. Correct that value.",
    ),
    "trace-file-member-twice": (
        "reject",
        "{place}: this member stands in its object more than once. One is expected. Keep the one that is right.",
    ),
    "trace-file-outline-missing": (
        "reject",
        "No outline was read; the members of the object are {names}. A member radii_mm or points_mm is expected. Rename "
        "the one that holds the outline, if it is in mm.",
    ),
    "trace-file-two-outlines": (
        "reject",
        "{place} gives the outline twice, as {names}. One form is expected. Keep one.",
    ),
    # Lines, columns and numbers.
    "trace-file-number-not-clear": (
        "reject",
        '{place}: "{said}" was read. A plain number such as 24.35 is expected, without a unit. Correct it, or begin the '
        "line with # if it is a comment.",
    ),
    "trace-file-number-not-finite": (
        "reject",
        "{place}: {said} was read. A finite number is expected. Correct that figure, or trace the lens again.",
    ),
    "trace-file-cell-empty": (
        "reject",
        "{place}: nothing was read in column {column}. A number is expected in every line. Fill it in, or trace the lens "
        "again.",
    ),
    "trace-file-row-differs": (
        "reject",
        "{place}: {count} values were read; line {first} has {expected}. The same number of values is expected in every "
        "line. Correct the line.",
    ),
    "trace-file-decimal-mark-not-clear": (
        "reject",
        '{place}: "{said}" was read, with {its}; other lines have {others}. One of the two is expected in the whole file. '
        "Export the trace again with a decimal point.",
    ),
    "trace-file-comma-not-clear": (
        "reject",
        '{place}: "{said}" was read; the comma may part two columns or stand for the decimal point, and no other line '
        "settles it. Write decimal points, or semicolons between the columns, or "
        + _HEADER
        + ", or radius_mm above one column.",
    ),
    "trace-file-columns-not-clear": (
        "reject",
        "{count} columns without names were read (line {first}), and their figures do not settle what they are. One column "
        "of radii, or two columns with names, are expected. Say which by " + _HEADER + ".",
    ),
    "trace-file-header-not-known": (
        "reject",
        "{place}: the column names {names} were read. They do not name one outline: x_mm and y_mm, or angle_deg and "
        "radius_mm, or radius_mm alone are expected. Rename the columns, or begin the line with # if it is a comment.",
    ),
    "trace-file-column-twice": (
        "reject",
        "{place}: more than one column holds the {quantity}: {names}. One is expected. Keep the right one, rename the "
        "others.",
    ),
    "trace-file-unit-not-known": (
        "reject",
        '{place}: the column name "{said}" was read. Lengths are read in mm only (x_mm, y_mm, radius_mm), angles in '
        "degrees or radians (angle_deg, angle_rad). Convert the figures and rename the column; nothing was converted.",
    ),
    "trace-file-set-aside": (
        "note",
        "{place}: beside the outline this was read, and set aside: {names}. Radii or points are all that is expected. Nothing "
        "need be done if that is no part of the outline.",
    ),
    # Radii and angles.
    "trace-file-equal-angles-taken": (
        "note",
        "{count} radii without angles were read. They are taken at equal angles, counter-clockwise as seen from the front, "
        "beginning at the observer's right. If the tracer goes another way, export the angles as well.",
    ),
    "trace-file-figures-set-aside": (
        "review",
        "{place}: radii were read, and these figures beside them were set aside: {names}. The radii are taken at equal "
        "angles, counter-clockwise as seen from the front, beginning at the observer's right. If those figures are angles, "
        "export the trace as CSV with " + _HEADER + ".",
    ),
    "trace-file-polar-inferred": (
        "review",
        "{place}: two columns without names were read. They are taken for angles in degrees and radii in mm, since the "
        "first goes once round from 0 in equal steps. Check the outline, and name the columns angle_deg and radius_mm.",
    ),
    "trace-file-clockwise": (
        "review",
        "{place}: the angles fall from {from_angle} to {to_angle}. Angles that rise, counter-clockwise as seen from the "
        "front, are expected, and the order was reversed. Check that the lens was not traced from the back, which would "
        "mirror it.",
    ),
    "trace-file-angles-not-in-order": (
        "reject",
        "{place}: the angle {said} follows {before}. Angles that only rise, or only fall, are expected. Put the lines in "
        "order, or trace the lens again.",
    ),
    "trace-file-angle-beyond-turn": (
        "reject",
        "{place}: the angle {said} was read. Angles from -360 to 360 degrees that go round once are expected. Check the "
        "angles and their unit; the column is named angle_rad if they are radians.",
    ),
    "trace-file-turn-not-whole": (
        "reject",
        "The angles leave a gap of {gap} degrees between the last and the first, and steps of up to {step} elsewhere. A "
        "whole turn is expected. Check that no line is missing; the column is named angle_rad if the angles are radians.",
    ),
    "trace-file-closing-set-aside": (
        "note",
        "{place}: the angle stands for the same direction as another, one turn on, and has the same radius. It was set aside. "
        "Nothing need be done.",
    ),
    "trace-file-closing-differs": (
        "reject",
        "{place}: the angle stands for the same direction as another, one turn on, but the radius {said} was read and not "
        "{other}. The same radius is expected. Correct one of them, or trace the lens again.",
    ),
}
