"""Sphere, cylinder and axis of one eye."""

from service.reading import words
from service.reading.cursor import Cursor, Figure
from service.reading.text_reading import EyeText, Reading, Span
from service.reading.tokens import Token

_LONGEST_AXIS = 3
_AXIS_WORDS = frozenset({"ax", "axis"})


def power_is_ahead(cursor: Cursor) -> bool:
    """Whether a power begins here: a figure with its sign, a zero written out, plano, balance, or the word sphere."""
    token = cursor.token
    zero = token.kind == "number" and token.has_point and not token.sign and float(token.digits) == 0
    return zero or cursor.signed_ahead() or cursor.is_word(words.PLANO | words.BALANCE | words.SPHERE)


def read_power(cursor: Cursor, eye: EyeText) -> None:
    """Sphere, then cylinder and axis where there are any."""
    sphere = _read_sphere(cursor, eye)
    if sphere is None:
        return
    if not cursor.skip_words(words.NO_CYLINDER) or _cylinder_follows_unit(cursor):
        _read_cylinder(cursor, eye, sphere)


def keep_eye(cursor: Cursor, reading: Reading, eye: EyeText) -> None:
    """Put an eye that has been read in its place; a second reading of the same eye is remarked."""
    there = reading.right if eye.eye == "right" else reading.left
    if there is not None:
        cursor.remark("eye-read-twice", eye.span, eye=eye.eye)
    elif eye.eye == "right":
        reading.right = eye
    else:
        reading.left = eye


def _read_sphere(cursor: Cursor, eye: EyeText) -> Figure | None:
    if cursor.skip_words(words.SPHERE):
        cursor.skip_kinds("equals")
    cursor.skip_kinds("colon", "cell")
    token = cursor.token
    if cursor.is_word(words.BALANCE):
        cursor.take()
        cursor.skip_words(words.WITHOUT_MEANING)
        eye.is_balance = True
        cursor.remark("balance-lens", token.span, eye=eye.eye)
        return None
    if cursor.is_word(words.PLANO):
        cursor.take()
        figure: Figure | None = Figure(0.0, token.span)
    else:
        figure = cursor.power(eye.eye)
    if figure is None:
        cursor.remark("sphere-not-found", eye.span, eye=eye.eye)
        return None
    eye.sphere, eye.spans["sphere"] = figure.value, figure.span
    cursor.skip_words(words.POWER_UNIT)
    return figure


def _cylinder_follows_unit(cursor: Cursor) -> bool:
    """Whether "DS" is the unit of the sphere and a cylinder that names itself follows: -2.25 DS / -0.75 DC x 10."""
    by = 0
    while cursor.ahead(by).kind in ("slash", "comma"):
        by += 1
    if cursor.ahead(by).kind != "number" or not cursor.ahead(by).sign:
        return False
    return cursor.is_word(words.CYLINDER | words.AXIS, by=by + 1)


def _read_cylinder(cursor: Cursor, eye: EyeText, sphere: Figure) -> None:
    here = cursor.at
    cursor.skip_kinds("slash", "comma", "cell")
    cursor.skip_lines_before(words.CYLINDER)
    named = cursor.skip_words(words.CYLINDER)
    if named:
        cursor.skip_kinds("colon", "equals")
        if cursor.skip_words(words.NO_CYLINDER):
            return
    if named and cursor.is_word(words.PLANO):
        figure: Figure | None = Figure(0.0, cursor.take().span)
    elif named or cursor.signed_ahead() or _unsigned_is_ahead(cursor, sphere):
        figure = cursor.power(eye.eye, follows_figure=True)
    elif cursor.is_word(words.AXIS):
        _read_axis(cursor, eye, None)
        return
    else:
        cursor.at = here
        return
    if figure is None:
        cursor.remark("cylinder-not-found", eye.span, eye=eye.eye)
        return
    eye.cylinder, eye.spans["cylinder"] = figure.value, figure.span
    cursor.skip_words(words.POWER_UNIT | words.CYLINDER)
    _read_axis(cursor, eye, figure)
    remark_zero_with_axis(cursor, eye)


def remark_zero_with_axis(cursor: Cursor, eye: EyeText) -> None:
    """A cylinder of 0 with an axis of its own: a digit of the cylinder may be lost."""
    if eye.cylinder == 0 and eye.axis is not None and eye.axis not in (0.0, 180.0):
        cursor.remark("zero-cylinder-with-axis", eye.spans["cylinder"], eye=eye.eye)


def _unsigned_is_ahead(cursor: Cursor, sphere: Figure) -> bool:
    """A number followed by an axis can only be a cylinder: without a sign it is refused by name, or it is 0.

    After a whole sphere a zero may be the rest of the sphere.
    """
    token = cursor.token
    if token.kind != "number" or token.sign:
        return False
    return cursor.is_word(words.AXIS, by=1) or (sphere.has_point and token.has_point and float(token.digits) == 0)


def _read_axis(cursor: Cursor, eye: EyeText, cylinder: Figure | None) -> None:
    here = cursor.at
    cursor.skip_kinds("slash", "comma", "cell")
    cursor.skip_lines_before(words.AXIS)
    if cursor.is_word(words.AXIS):
        mark = cursor.take()
        if mark.text not in _AXIS_WORDS and cursor.is_word(_AXIS_WORDS):
            mark = cursor.take()
        if mark.text in _AXIS_WORDS:
            cursor.skip_kinds("colon", "equals")
        _read_marked_axis(cursor, eye, mark.span, cylinder)
    elif cylinder is None or not _read_bare_axis(cursor, eye, cylinder):
        cursor.at = here


def _read_marked_axis(cursor: Cursor, eye: EyeText, mark: Span, cylinder: Figure | None) -> None:
    token = cursor.token
    if token.kind == "number" and token.sign:
        cursor.remark("axis-signed", cursor.take().span, eye=eye.eye)
        cursor.skip_words(words.DEGREE)
        return
    before = cursor.at
    number = cursor.plain_number(eye.eye)
    if number is None:
        # A cylinder without an axis is found by the rules; the mark of an axis without either is not.
        if cylinder is None and cursor.at == before:
            cursor.remark("text-left-over", mark, eye=eye.eye)
        return
    take_marked_axis(cursor, eye, number)


def take_marked_axis(cursor: Cursor, eye: EyeText, number: Token) -> None:
    """A figure that can only be an axis, by its mark or its column."""
    if number.has_point:
        cursor.remark("axis-not-whole-in-text", number.span, eye=eye.eye)
    elif len(number.digits) > _LONGEST_AXIS:
        cursor.remark("figure-not-clear", number.span, eye=eye.eye)
    else:
        _take_axis(cursor, eye, number.digits, number.span, "")


def _read_bare_axis(cursor: Cursor, eye: EyeText, cylinder: Figure) -> bool:
    token = cursor.token
    if token.kind == "sign" and token.text == "-" and _is_axis_figure(cursor, 1):
        lone = cursor.take()
        number = cursor.take()
        _take_axis(cursor, eye, number.digits, (lone.start, number.end), "dash-before-axis")
        return True
    if token.kind == "number" and token.sign == "-" and not token.has_point and len(token.digits) in (2, 3):
        cursor.take()
        _take_axis(cursor, eye, token.digits, token.span, "dash-before-axis")
        return True
    if _is_axis_figure(cursor, 0) and (len(token.digits) > 1 or cursor.is_word(words.DEGREE, by=1)):
        number_read = cursor.plain_number(eye.eye)
        if number_read is not None:
            # After a whole cylinder the figure may be its hundredths.
            _take_axis(cursor, eye, token.digits, token.span, "" if cylinder.has_point else "axis-not-marked")
        return True
    return False


def _is_axis_figure(cursor: Cursor, by: int) -> bool:
    token = cursor.ahead(by)
    return token.kind == "number" and not token.sign and not token.has_point and len(token.digits) <= _LONGEST_AXIS


def _take_axis(cursor: Cursor, eye: EyeText, digits: str, span: Span, code: str) -> None:
    """An axis of at most three digits, with what is to be said of it."""
    cursor.skip_words(words.DEGREE)
    axis = int(digits)
    if axis > 180:
        cursor.remark("axis-beyond-180", span, eye=eye.eye, value=float(axis))
        return
    if axis == 0:
        cursor.remark("axis-zero-in-text", span, eye=eye.eye, value=0.0)
    if code:
        cursor.remark(code, span, eye=eye.eye, value=float(axis), taken=str(axis))
    eye.axis, eye.spans["axis"] = float(axis), span
