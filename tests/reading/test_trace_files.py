"""Trace files: what is read, what is refused, where it is said, and that nothing is guessed in silence.

The expectations of the corpus were written from the texts, not from what the reader answers: see `trace_files.toml`.
"""

import json
import math
import tomllib
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from written_mess import lines_run

import service
from service.contract.trace import LARGEST_RADIUS_MM
from service.limits import MAX_DEPTH, MAX_TRACE_FILE_CHARACTERS, MAX_TRACE_POINTS, MAX_VALUES
from service.reading.trace_files import READERS, REMARKS, TraceReading, trace_from
from service.reading.trace_numbers import MOST_LINES
from service.reading.trace_remarks import MOST_FAULTS

steady = settings(
    derandomize=True, database=None, deadline=None, max_examples=200, suppress_health_check=list(HealthCheck)
)

_CORPUS: dict[str, list[dict[str, Any]]] = tomllib.loads(
    (Path(__file__).parent / "trace_files.toml").read_text(encoding="utf-8")
)
READ, REFUSED = _CORPUS["read"], _CORPUS["refused"]
_READING = str(Path(service.__file__).parent / "reading")
Points = Sequence[tuple[float, float]]


def codes(reading: TraceReading) -> list[str]:
    return [remark.code for remark in reading.remarks]


def said(reading: TraceReading) -> list[tuple[str, int]]:
    """The remarks as the corpus has them: code and line, 0 for the file as a whole."""
    return [(remark.code, remark.line or 0) for remark in reading.remarks]


def sentences(reading: TraceReading) -> str:
    return "\n".join(REMARKS[remark.code][1].format_map(remark.words) for remark in reading.remarks)


def judged(text: str) -> TraceReading:
    """The reading of a text, with what must hold for every text."""
    reading = trace_from(text)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
    refusals = [remark for remark in reading.remarks if REMARKS[remark.code][0] == "reject"]
    assert (reading.form is None) == bool(refusals)
    assert bool(reading.radii_mm) == (reading.form == "radii")
    assert bool(reading.points_mm) == (reading.form == "points")
    assert all(0 < radius <= LARGEST_RADIUS_MM for radius in reading.radii_mm)
    assert all(abs(figure) <= LARGEST_RADIUS_MM for point in reading.points_mm for figure in point)
    assert len(reading.remarks) <= MOST_FAULTS + 5
    for remark in reading.remarks:
        assert remark.line is None or 1 <= remark.line <= lines
        sentence = REMARKS[remark.code][1].format_map(remark.words)
        assert len(sentence) <= 700
        assert sentence.isprintable()
    return reading


def rows(table: Sequence[dict[str, Any]]) -> list[Any]:
    return [pytest.param(row, id=f"{number}-{ascii(row['text'])[1:40]}") for number, row in enumerate(table, 1)]


# The corpus.


@pytest.mark.parametrize("row", rows(READ))
def test_a_good_file_gives_exactly_the_figures_that_stand_in_it(row: dict[str, Any]) -> None:
    reading = judged(row["text"])
    assert said(reading) == [tuple(remark) for remark in row.get("remarks", [])], sentences(reading)
    assert all(words in sentences(reading) for words in row.get("quotes", [])), sentences(reading)
    if "radii" in row:
        assert reading.radii_mm == tuple(row["radii"])
    elif "about" in row:
        found, expected = (sum((tuple(point) for point in points), ()) for points in (reading.points_mm, row["points"]))
        assert found == pytest.approx(expected, abs=row["about"])
    else:
        assert reading.points_mm == tuple(map(tuple, row["points"]))


@pytest.mark.parametrize("row", rows(REFUSED))
def test_a_file_that_is_not_clear_is_refused_where_it_is_not(row: dict[str, Any]) -> None:
    reading = judged(row["text"])
    assert reading.form is None
    assert said(reading) == [tuple(remark) for remark in row["remarks"]], sentences(reading)
    assert all(words in sentences(reading) for words in row.get("quotes", [])), sentences(reading)


@pytest.mark.parametrize("row", rows(READ + REFUSED))
def test_line_ends_and_a_byte_order_mark_change_nothing(row: dict[str, Any]) -> None:
    text = row["text"].removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    reading = trace_from(text)
    for other in (f"\ufeff{text}", text.replace("\n", "\r\n"), text.replace("\n", "\r")):
        assert trace_from(other) == reading


_LARGE = {
    "trace-file-too-long": "1" * (MAX_TRACE_FILE_CHARACTERS + 1),
    "trace-file-too-much": "20.5\n" * (MOST_LINES + 1),
    "trace-file-too-many": "20.5\n" * (MAX_TRACE_POINTS + 1),
    "trace-file-json-too-deep": "[" * 5000 + "]" * 5000,
    "trace-file-more-faults": "20.5\n" + "20.5.3\n" * (MOST_FAULTS + 7),
}


@pytest.mark.parametrize("code", _LARGE)
def test_a_file_beyond_a_bound_is_refused(code: str) -> None:
    reading = judged(_LARGE[code])
    assert reading.form is None
    assert codes(reading)[-1] == code


def test_a_file_at_a_bound_is_read() -> None:
    assert trace_from("20.5\n" * MAX_TRACE_POINTS).radii_mm == (20.5,) * MAX_TRACE_POINTS
    assert codes(trace_from("20.5\n" * 24, most_points=23))[-1] == "trace-file-too-many"
    assert trace_from("20.5\n" * 23, most_points=23).form == "radii"
    assert trace_from("[20, 20, 20]".ljust(MAX_TRACE_FILE_CHARACTERS)).form == "radii"
    nested = "[" * (MAX_DEPTH - 1) + "]" * (MAX_DEPTH - 1)
    assert codes(judged(f'{{"radii_mm": [20, 20, 20], "job": {nested}}}')) == ["trace-file-figures-set-aside"]
    assert codes(judged(f'{{"radii_mm": [20, 20, 20], "job": [{nested}]}}')) == ["trace-file-json-too-deep"]
    assert codes(judged(f"[{'20,' * MAX_VALUES}20]")) == ["trace-file-too-much"]


def test_faults_beyond_the_first_are_counted() -> None:
    reading = trace_from(_LARGE["trace-file-more-faults"])
    assert said(reading)[:-1] == [("trace-file-number-not-clear", line) for line in range(2, 2 + MOST_FAULTS)]
    assert reading.remarks[-1].words["count"] == "7"


def test_every_remark_occurs_in_these_tests() -> None:
    texts = [row["text"] for row in READ + REFUSED] + list(_LARGE.values())
    assert {code for text in texts for code in codes(trace_from(text))} == set(REMARKS)


def test_every_remark_says_what_was_read_what_is_expected_and_what_to_do() -> None:
    for code, (severity, sentence) in REMARKS.items():
        assert code.startswith("trace-file-")
        assert severity in ("reject", "review", "note")
        assert sentence.count(". ") >= 1, code
        assert "invalid" not in sentence.lower()


def test_the_readers_are_tried_in_order_and_the_last_takes_any_text() -> None:
    assert [reader.name for reader in READERS] == ["json", "labelled-records", "columns"]
    assert READERS[-1].recognises("")
    for text, name in (("[1]", "json"), ("R=1", "labelled-records"), ("x,y", "columns"), ("# R=1", "columns")):
        assert next(reader for reader in READERS if reader.recognises(text)).name == name


# One outline in every form.


def parted(separator: str, header: str, table: Sequence[Sequence[float]], *, comma: bool = False) -> str:
    """A table of numbers as written by `repr`, which reads back as the same number."""
    lines = [separator.join(repr(figure) for figure in row) for row in table]
    text = "\n".join([header.replace(",", separator), *lines] if header else lines)
    return text.replace(".", ",") if comma else text


def radii_forms(radii: Sequence[float]) -> dict[str, str]:
    step = 360 / len(radii)
    polar = [(number * step, radius) for number, radius in enumerate(radii)]
    turned = [(math.radians(angle), radius) for angle, radius in polar]
    column = [(radius,) for radius in radii]
    return {
        "object": json.dumps({"radii_mm": radii}),
        "list": json.dumps(radii, indent=1),
        "one column": parted(",", "", column),
        "one column with a name": parted(",", "radius_mm", column, comma=True),
        "one column with commas": parted(",", "", [*column, (20,)], comma=True),
        "polar": parted(",", "angle,radius", polar),
        "polar with decimal commas": parted(";", "angle_deg,radius_mm", polar, comma=True),
        "polar by blanks, with decimal commas": parted("  ", "theta,r", polar, comma=True),
        "polar by tabs": parted("\t", "angle,radius", polar),
        "polar by bars": parted(" | ", "angle,radius", polar),
        "polar the other way about": parted(",", "radius,angle", [(radius, angle) for angle, radius in polar]),
        "polar closed": parted(",", "angle,radius", [*polar, (360.0, radii[0])]),
        "polar clockwise": parted(",", "angle,radius", polar[::-1]),
        "polar in radians": parted(";", "angle_rad,radius_mm", turned),
        "polar without names": parted(";", "", polar),
        "polar among others": parted(",", "no,angle,r,z", [(1, *row, -3.5) for row in polar]),
    }


def points_forms(points: Points) -> dict[str, str]:
    return {
        "object": json.dumps({"points_mm": points}, indent=2),
        "list": json.dumps(points),
        "columns": parted(",", "x,y", points),
        "columns with decimal commas": parted(";", "x_mm,y_mm", points, comma=True),
        "columns by blanks, with decimal commas": parted(" ", "x,y", points, comma=True),
        "columns by tabs": parted("\t", "x,y", points),
        "columns the other way about": parted("|", "y,x", [(y, x) for x, y in points]),
        "columns among others": parted(",", "no,x,z,y", [(1, x, 0.5, y) for x, y in points]),
        "columns without names": parted(" ", "", points),
        "columns without names, with decimal commas": parted(";", "", points, comma=True),
    }


def decorated(text: str, *, is_json: bool) -> list[str]:
    """The same file as other programs would save it."""
    if is_json:
        return [f"\ufeff{text}\n", text.replace("\n", "\r\n")]
    lines = text.split("\n")
    return [
        f"\ufeff# by hand\n\n{text}\n\n",
        "\r\n".join([*lines, ""]),
        "\n".join(f"\u00a0 {line} \t" for line in lines) if "\t" not in text else text,
        text.replace("-", "\u2212"),
        "\n// or so\n".join(lines),
        "\n".join(f"{line};" for line in lines) if ";" in text else text,
    ]


radius = st.floats(12, 40, allow_subnormal=False) | st.integers(1200, 4000).map(lambda figure: figure / 100)


@settings(steady, max_examples=60)
@given(st.lists(radius, min_size=3, max_size=80))
def test_one_outline_of_radii_reads_the_same_in_every_form(radii: list[float]) -> None:
    for name, text in radii_forms(radii).items():
        expected = (*radii, 20.0) if name == "one column with commas" else tuple(radii)
        for written in (text, *decorated(text, is_json=name in ("object", "list"))):
            reading = judged(written)
            assert reading.radii_mm == expected, (name, written, sentences(reading))


@settings(steady, max_examples=60)
@given(st.lists(radius, min_size=5, max_size=80), st.floats(0, 1))
def test_one_outline_of_points_reads_the_same_in_every_form(radii: list[float], shift: float) -> None:
    turns = [math.tau * (number + shift) / len(radii) for number in range(len(radii))]
    points = [(r * math.cos(turn), r * math.sin(turn)) for r, turn in zip(radii, turns, strict=True)]
    for name, text in points_forms(points).items():
        for written in (text, *decorated(text, is_json=name in ("object", "list"))):
            reading = judged(written)
            assert reading.points_mm == tuple(points), (name, written, sentences(reading))


@steady
@given(st.lists(radius, min_size=6, max_size=60), st.floats(-180, 180), st.booleans(), st.data())
def test_angles_in_uneven_steps_give_the_points_at_those_angles(
    radii: list[float], start: float, clockwise: bool, data: st.DataObject
) -> None:
    steps = data.draw(st.lists(st.floats(1, 1.9), min_size=len(radii), max_size=len(radii)))
    angles = [start + 360 * sum(steps[:at]) / sum(steps) for at in range(len(radii))]
    if max(angles) > 360:
        angles = [angle - 360 for angle in angles]
    table = list(zip(angles, radii, strict=True))
    reading = judged(parted(",", "angle,radius", table[::-1] if clockwise else table))
    assert ("trace-file-clockwise" in codes(reading)) == clockwise
    if reading.form == "radii":  # even steps from 0, which are kept as radii
        assert reading.radii_mm == tuple(radii)
        return
    assert len(reading.points_mm) == len(table)
    for (x, y), (angle, r) in zip(reading.points_mm, table, strict=True):
        assert math.hypot(x, y) == pytest.approx(r, rel=1e-12)
        away = math.degrees(math.atan2(y, x)) - angle
        assert math.remainder(away, 360) == pytest.approx(0, abs=1e-9)


# What is lost or altered on the way is not read as something else.


def _without_a_line_end(text: str, at: int) -> str:
    return text[:at] + text[at + 1 :]


_POLAR = parted(",", "angle,radius", [(15.0 * number, 25.0 + number / 8) for number in range(24)])
_XY = parted(";", "x,y", [(25.5, 0), (18, 17.5), (0, 20), (-18, 17), (-26, 0), (-18, -17), (0, -21), (18, -17)])
_FILES = {"polar": _POLAR, "points": _XY, "points with decimal commas": _XY.replace(".", ",")}


@pytest.mark.parametrize("name", _FILES)
def test_a_lost_line_end_or_separator_is_never_passed_over(name: str) -> None:
    text = _FILES[name]
    whole = trace_from(text)
    lost = [
        at for at, mark in enumerate(text) if mark in "\n;" or (mark == "," and "," not in name and ";" not in text)
    ]
    assert len(lost) >= 16
    for at in lost:
        reading = judged(_without_a_line_end(text, at))
        assert reading.form is None or reading == whole, (at, sentences(reading))


@pytest.mark.parametrize("name", _FILES)
def test_a_letter_within_a_figure_is_refused_at_its_line(name: str) -> None:
    text = _FILES[name]
    first = text.index("\n")
    figures = [at for at, mark in enumerate(text) if mark.isdigit() and at > first]
    for at in figures:
        for letter in "OlSmx":
            reading = judged(f"{text[:at]}{letter}{text[at + 1 :]}")
            assert said(reading) == [("trace-file-number-not-clear", text.count("\n", 0, at) + 1)]


@pytest.mark.parametrize("missing", [1, 2, 3, 12, 23, 24])
def test_a_lost_line_among_even_angles_gives_points_and_never_radii(missing: int) -> None:
    lines = _POLAR.split("\n")
    reading = judged("\n".join(lines[:missing] + lines[missing + 1 :]))
    assert reading.form == "points"
    assert len(reading.points_mm) == 23


@pytest.mark.parametrize(
    ("angle", "form"), [(90.0099, "radii"), (89.9901, "radii"), (90.0101, "points"), (89.9, "points")]
)
def test_angles_as_even_as_two_decimals_allow_are_taken_for_even_steps(angle: float, form: str) -> None:
    assert judged(f"angle,radius\n0,25\n{angle},20.5\n180,26\n270,21\n").form == form
    without = judged(f"0,25.5\n{angle},20.5\n180,26\n270,21\n")
    assert codes(without) == (["trace-file-polar-inferred"] if form == "radii" else ["trace-file-columns-not-clear"])


@pytest.mark.parametrize("kept", [4, 8, 12, 16, 20, 21])
def test_a_trace_that_ends_early_is_refused(kept: int) -> None:
    assert codes(judged("\n".join(_POLAR.split("\n")[: kept + 1]))) == ["trace-file-turn-not-whole"]


def test_what_is_quoted_is_short_and_on_one_line() -> None:
    for text in (f"25\n{'9' * 5000}\n26", f"x{'y' * 5000}\n1\n", f'{{"{"a" * 5000}": 1}}', f"R={'x' * 5000}"):
        reading = judged(text)
        assert reading.form is None
        assert all(len(word) <= 150 for remark in reading.remarks for word in remark.words.values())


# Any text at all.

_PIECES = (
    "x", "y", "r", "angle", "radius_mm", "theta_rad", "x_cm", "note", ",", ";", "|", "\t", " ", "\n", "\r\n", "\r", "#",
    "//", "{", "}", "[", "]", ":", '"', '"radii_mm"', '"points_mm"', "0", "25", "-20.5", "20,5", "1e999", "-1e308",
    "NaN", "true", "null", "R=", "=", ".", "-", "\u2212", "\u00a0", "\ufeff", "\u200b", "\0", "\u2028", "\x1c", "é", "٣",
    "90", "180", "270", "360", "\\", "\\ud800", "'", "°",
)  # fmt: skip
_GOOD = [row["text"] for row in READ]


@settings(steady, max_examples=500)
@given(st.text(max_size=200))
def test_no_text_raises(text: str) -> None:
    judged(text)


@settings(steady, max_examples=1000)
@given(st.lists(st.sampled_from(_PIECES), max_size=40).map("".join))
def test_no_text_of_the_pieces_of_trace_files_raises(text: str) -> None:
    judged(text)


@settings(steady, max_examples=300)
@given(st.binary(max_size=400), st.sampled_from(["latin-1", "utf-8", "utf-16", "cp1252"]))
def test_no_bytes_raise_however_they_are_decoded(data: bytes, encoding: str) -> None:
    judged(data.decode(encoding, errors="replace"))


@settings(steady, max_examples=1000)
@given(st.sampled_from(_GOOD), st.data())
def test_no_edit_of_a_good_file_raises(text: str, data: st.DataObject) -> None:
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        drop = data.draw(st.integers(0, 3))
        text = text[:at] + data.draw(st.sampled_from(_PIECES) | st.just("")) + text[at + drop :]
    judged(text)


@settings(steady, max_examples=500)
@given(st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=6)
    | st.dictionaries(st.sampled_from(["radii_mm", "points_mm", "job", "a/b~", ""]), inner, max_size=3),
    max_leaves=20,
))  # fmt: skip
def test_no_json_raises_and_every_place_named_is_in_it(document: Any) -> None:
    text = json.dumps(document, indent=1)
    for remark in judged(text).remarks:
        place, _, pointer = remark.words["place"].partition(", ")
        if pointer.startswith("/"):
            assert place == f"Line {remark.line}"
            found = document
            for step in pointer[1:].split("/"):
                found = found[int(step) if isinstance(found, list) else step.replace("~1", "/").replace("~0", "~")]
            assert text.split("\n")[(remark.line or 0) - 1].strip().endswith(_beginning(found))


def _beginning(value: object) -> tuple[str, ...]:
    """How the line on which a value begins ends, where JSON is written with one value a line."""
    if isinstance(value, (dict, list)) and value:
        return ("{",) if isinstance(value, dict) else ("[",)
    return (json.dumps(value), f"{json.dumps(value)},")


_NASTY: dict[str, Callable[[int], str]] = {
    "one row of figures": lambda count: "1," * count,
    "one row of blanks and figures": lambda count: "1 ; " * count,
    "rows that are not clear": lambda count: "1;2|3\t4 5,6\n" * count,
    "letters": lambda count: "?\n" * count,
    "commas that are not clear": lambda count: "1,5\n" * count,
    "a header of many names": lambda count: "a," * count,
    "quotation marks": lambda count: '"' * count,
    "points": lambda count: "x,y\n" + "25.5,-17\n" * count,
    "angles": lambda count: "angle,r\n" + "".join(f"{360 * at / count},25.5\n" for at in range(count)),
    "records": lambda count: "A\n" * count + "R=1",
    "lists": lambda count: f"[{','.join(['[]'] * count)}]",
    "words": lambda count: f"[{','.join(['true'] * count)}]",
    "members": lambda count: f"{{{','.join(f'{chr(34)}a{at}{chr(34)}: 1' for at in range(count))}}}",
    "one member over and over": lambda count: f"{{{','.join([f'{chr(34)}a{chr(34)}: 1'] * count)}}}",
}


@pytest.mark.parametrize("name", _NASTY)
def test_the_work_grows_with_the_length_and_no_faster(name: str) -> None:
    half, whole = _NASTY[name](400), _NASTY[name](800)
    work = [lines_run(partial(trace_from, text), _READING) for text in (half, whole)]
    assert work[1] <= 2.2 * work[0] + 500, work
