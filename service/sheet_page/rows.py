"""What the sheet says of each lens: one row a quantity, right and left side by side, in the words of the trade."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from service.contract.answer import SpheroCylinder
from service.contract.placement import Shift
from service.contract.sheet import BenchSheet, EdgeSeen, ExpectedBody, EyeSheet, LensmeterReading
from service.notation import line, power
from service.words import height, in_and_up

NOT_KNOWN = "not known"
AFTER_EDGING = "Read after edging"
WRITE = "_" * 14
COLUMNS = ("Right (R)", "Left (L)")
_NAME_LETTERS = 24
_NO_TURN = {
    "reading-part": "it has a reading part",
    "prescribed-prism": "prism is prescribed",
    "marked-top": "its top is marked",
    "gradient-tint": "its tint has a top",
    "polarised": "it is polarised",
}


@dataclass(frozen=True, slots=True)
class EyeRow:
    """One quantity of both lenses. `strong` is what must be seen first."""

    label: str
    right: str
    left: str
    strong: bool = False


def eye_rows(sheet: BenchSheet) -> tuple[EyeRow, ...]:
    """The rows of a sheet; none where there is nothing to cut."""
    if sheet.right is None or sheet.left is None:
        return ()
    return tuple(_rows(sheet.right, sheet.left))


def _rows(right: EyeSheet, left: EyeSheet) -> Iterator[EyeRow]:
    def row(label: str, of: Callable[[EyeSheet], str], *, strong: bool = False) -> EyeRow:
        return EyeRow(label, of(right), of(left), strong)

    yield row("Power to cut", _power, strong=True)
    yield row("Lensmeter, minus form", _minus_read)
    yield row("Lensmeter, plus form", _plus_read)
    yield row("Axis to set", _axis)
    if right.add is not None or left.add is not None:
        yield row("Addition", lambda eye: "none" if eye.add is None else f"{power(eye.add)} D")
    yield row("Prism, reference point", _prism)
    near = " (near)" if right.pd_for == "near" else ""
    yield row(f"PD of this eye{near}", _pd)
    yield row("Fitting height", _height)
    yield row("Decentration", lambda eye: _shift(eye.decentration_mm))
    if any(eye.near_pd_mm is not None or eye.segment is not None for eye in (right, left)):
        yield row("Reading part", _reading_part)
    yield row("Size to cut, A x B", _size)
    yield row("Blank", _blank)
    yield row("Margin on diameter", _margin)
    yield row("Placement", _placement)
    yield row("Front, centre, weight", _body)
    yield row("Edge expected", _edges)
    yield row(AFTER_EDGING, lambda _: f"1st {'_' * 8} 2nd {'_' * 8} axis {'_' * 5}")


def _power(eye: EyeSheet) -> str:
    if eye.notation is None:
        return f"NOT SETTLED {WRITE} (prescribed {eye.prescribed})"
    if eye.power_from == "distance-plus-add":
        return f"{eye.notation} (reading power; prescribed {eye.prescribed} with addition)"
    return eye.notation


def _minus_read(eye: EyeSheet) -> str:
    return NOT_KNOWN if eye.lensmeter is None else _read(eye.minus_cylinder, eye.lensmeter.minus)


def _plus_read(eye: EyeSheet) -> str:
    return NOT_KNOWN if eye.lensmeter is None else _read(eye.plus_cylinder, eye.lensmeter.plus)


def _read(form: SpheroCylinder | None, reading: LensmeterReading) -> str:
    """The form with the two readings in the order in which they are focused."""
    if form is None or reading.second is None:
        return f"{power(reading.first)} all round"
    return f"{line(form.sphere, form.cylinder, form.axis)}: 1st {power(reading.first)}, 2nd {power(reading.second)}"


def _axis(eye: EyeSheet) -> str:
    minus, plus = eye.minus_cylinder, eye.plus_cylinder
    if minus is None or plus is None:
        return NOT_KNOWN
    if minus.axis is None:
        return "none, a sphere"
    return f"{_degrees(minus.axis)} as minus form ({_degrees(plus.axis)} as plus form)"


def _prism(eye: EyeSheet) -> str:
    prism = eye.prism
    return "none" if prism is None else f"{_bases(prism.horizontal, prism.vertical)} (prism dioptres)"


def _bases(horizontal: float, vertical: float) -> str:
    """A prism in its two parts; base in and base up are positive, what rounds to nothing is left out."""
    parts = [
        f"{abs(amount):.2f} base {words[0] if amount > 0 else words[1]}"
        for amount, words in ((horizontal, ("in", "out")), (vertical, ("up", "down")))
        if abs(amount) >= 0.005
    ]
    return ", ".join(parts) or "0.00"


def _pd(eye: EyeSheet) -> str:
    return f"{NOT_KNOWN}: measure {'_' * 8}" if eye.pd_mm is None else f"{_mm(eye.pd_mm)} mm"


def _height(eye: EyeSheet) -> str:
    if eye.height_mm is not None:
        return f"{_mm(eye.height_mm)} mm"
    return f"not given: measure {'_' * 8} (centre line taken)"


def _shift(shift: Shift | None) -> str:
    if shift is None:
        return NOT_KNOWN
    across = f"{_mm(abs(shift.in_))} mm {'in' if shift.in_ >= 0 else 'out'}"
    if shift.up is None:
        return f"{across}; height not known"
    return f"{across}, {_mm(abs(shift.up))} mm {'up' if shift.up >= 0 else 'down'}"


def _reading_part(eye: EyeSheet) -> str:
    parts = [] if eye.near_pd_mm is None else [f"near PD {_mm(eye.near_pd_mm)} mm"]
    if eye.segment is not None:
        parts.append(f"top {_shift(eye.segment.place_mm)}, {_mm(eye.segment.depth_mm)} mm high")
    return "; ".join(parts) or NOT_KNOWN


def _size(eye: EyeSheet) -> str:
    size = eye.size
    sizes = f"{_mm(size.a_mm)} x {_mm(size.b_mm)} mm"
    if size.circumference_mm is None:
        return f"{sizes}, as stated: trace the rim"
    return f"{sizes}, round {_mm(size.circumference_mm)} mm (traced)"


def _blank(eye: EyeSheet) -> str:
    blank = eye.blank
    if blank is None:
        return f"{NOT_KNOWN} {WRITE}"
    by = "as ordered" if blank.chosen_by == "order" else "chosen by the shop's settings"
    row = "" if blank.row is None else f", {_short(blank.row)}"
    return f"{_mm(blank.diameter_mm)} mm, {by}{row}; middle {_shift(blank.middle_mm)}"


def _short(name: str) -> str:
    """A name from the shop's list: all of it stands in the answer."""
    return name if len(name) <= _NAME_LETTERS else f"{name[:_NAME_LETTERS]}…"


def _margin(eye: EyeSheet) -> str:
    blank = eye.blank
    if blank is None:
        return NOT_KNOWN
    needed = f"{_mm(blank.needed_mm)} mm needed"
    words = f"{_room(blank.margin_mm)} ({needed}"
    if blank.guaranteed_margin_mm != blank.margin_mm:
        words += f"; usual ED; for any shape {_room(blank.guaranteed_margin_mm)}"
    words += ")"
    if blank.tightest is not None:
        tight = blank.tightest
        words += f"; tightest {tight.side}, {height(tight.above_deg)}"
    return words


def _placement(eye: EyeSheet) -> str:
    advice = eye.advice
    if advice is None:
        refused = "" if eye.no_half_turn is None else f"; no half turn: {_NO_TURN[eye.no_half_turn]}"
        return NOT_KNOWN if eye.blank is None else f"as ordered{refused}"
    moves = ["turn the blank by half a turn"] if advice.turned else []
    shift = advice.shift_mm
    if shift.in_ or shift.up:
        moves.append(f"optical centre {in_and_up(shift.in_, shift.up or 0.0, 'mm')} from the pupil")
    prism = ""
    if advice.prism is not None:
        prism = f"; unwanted prism {_bases(advice.prism.horizontal, advice.prism.vertical)}"
    margin = "" if advice.margin_mm is None else f"; then {_room(advice.margin_mm)}"
    return f"ADVISED, a person decides: {', '.join(moves)}{prism}{margin}"


def _body(eye: EyeSheet) -> str:
    body = eye.body
    if body is None or body.centre_mm is None:
        return NOT_KNOWN
    weight = "" if body.weight_g is None else f", {body.weight_g:.1f} g"
    return f"front {power(round(body.front_power_d, 2))} D, centre {body.centre_mm:.2f} mm{weight}"


def _edges(eye: EyeSheet) -> str:
    body = eye.body
    if body is None or body.thinnest is None or body.thickest is None:
        return NOT_KNOWN
    lower = body.lower_edge_with_add_mm
    with_add = "" if lower is None else f"; lower edge with addition about {lower:.2f} mm"
    return f"{_edge(body.thinnest)} to {_edge(body.thickest)}{_modelled(body)}{with_add}"


def _modelled(body: ExpectedBody) -> str:
    return ", shape modelled" if body.basis == "modelled" else ""


def _edge(seen: EdgeSeen) -> str:
    above = round(seen.above_deg)
    return f"{seen.mm:.2f} mm {seen.side} {abs(above)}° {'above' if above >= 0 else 'below'}"


def _mm(value: float) -> str:
    """Millimetres with one decimal, or two where they say more."""
    return f"{value:.1f}" if abs(value - round(value, 1)) < 0.005 else f"{value:.2f}"


def _room(margin_mm: float) -> str:
    return f"SHORT by {_mm(-margin_mm)} mm" if margin_mm < 0 else f"{_mm(margin_mm)} mm to spare"


def _degrees(axis: float | None) -> str:
    if axis is None:
        return NOT_KNOWN
    return f"{axis:03.0f}" if axis.is_integer() else f"{axis:g}"
