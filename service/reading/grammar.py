"""The grammar of a written prescription.

    text      = { line end | setting | eye part | header row with its rows | set aside }
    eye part  = [ eye label ] power { add | prism | setting | set aside }
    power     = ( sphere | plano | balance ) [ cylinder [ axis ] ]
    setting   = add | pupillary distance | vertex distance

Every token is used by one of these or reported. What is not understood makes the reading refused.
"""

from service.reading import words
from service.reading.cursor import Cursor
from service.reading.parts import (
    prism_is_ahead,
    read_add,
    read_contact,
    read_date,
    read_prism,
    read_pupillary,
    read_vertex,
)
from service.reading.table import header_is_ahead, plain_header_is_ahead, read_plain_header, read_table
from service.reading.text_reading import EyeName, EyeText, Reading, Side
from service.reading.tokens import tokens

_BETWEEN = ("line", "comma", "cell", "colon", "slash")


def read_text(text: str) -> Reading:
    """Read a text. Bounded work: every step moves past a token."""
    cursor = Cursor(text, tokens(text))
    reading = Reading()
    while not cursor.done:
        before = cursor.at
        _read_item(cursor, reading)
        if cursor.at == before:
            _leave_over(cursor)
    reading.remarks = cursor.remarks
    return reading


def _read_item(cursor: Cursor, reading: Reading) -> None:
    token = cursor.token
    if token.kind in _BETWEEN:
        cursor.skip_kinds(*_BETWEEN)
    elif header_is_ahead(cursor):
        read_table(cursor, reading)
    elif plain_header_is_ahead(cursor):
        read_plain_header(cursor)
    elif token.kind == "word" and token.text in words.EYES:
        _read_labelled(cursor, reading)
    elif _set_aside(cursor) or _read_setting(cursor, reading, None):
        return
    elif not reading.has_labels and _power_is_ahead(cursor):
        _read_unlabelled(cursor, reading)
    elif cursor.is_word(words.WITHOUT_MEANING | words.FAR):
        cursor.take()


def _leave_over(cursor: Cursor) -> None:
    """Report what nothing could use."""
    token = cursor.token
    if token.kind == "number" and not token.sign:
        if cursor.plain_number() is not None:
            cursor.remark("power-unsigned" if token.has_point else "figure-left-over", token.span)
        return
    if cursor.signed_ahead():
        if token.kind != "number":
            cursor.take()
        cursor.remark("figure-left-over", (token.start, cursor.token.end))
    elif token.kind == "word" and token.text in words.SAME:
        cursor.remark("same-as-other-eye", token.span)
    else:
        cursor.remark("text-left-over", token.span)
    cursor.take()


def _power_is_ahead(cursor: Cursor) -> bool:
    token = cursor.token
    zero = token.kind == "number" and token.has_point and not token.sign and float(token.digits) == 0
    return zero or cursor.signed_ahead() or cursor.is_word(words.PLANO | words.BALANCE | words.SPHERE)


def _set_aside(cursor: Cursor) -> bool:
    """Visual acuities, dates and the like: recognised, remarked, not used."""
    token = cursor.token
    if token.kind == "acuity":
        cursor.remark("acuity-set-aside", cursor.take().span)
    elif token.kind == "word" and token.text in words.ACUITY:
        cursor.take()
        cursor.skip_kinds("colon")
    elif token.kind == "date" or (token.kind == "word" and token.text in words.DATE):
        read_date(cursor)
    elif token.kind == "word" and token.text in words.CONTACT:
        read_contact(cursor)
    else:
        return False
    return True


def _read_setting(cursor: Cursor, reading: Reading, eye: EyeText | None) -> bool:
    if _add_is_ahead(cursor):
        read_add(cursor, reading, eye)
    elif cursor.is_word(words.PUPILLARY | words.FAR_PUPILLARY | words.NEAR_PUPILLARY):
        read_pupillary(cursor, reading, eye)
    elif cursor.is_word(words.VERTEX):
        read_vertex(cursor, reading)
    else:
        return False
    return True


def _add_is_ahead(cursor: Cursor) -> bool:
    if cursor.is_word(words.ADD):
        return True
    return cursor.is_word(words.NEAR | words.INTERMEDIATE) and cursor.is_word(words.ADD, by=1)


def _read_labelled(cursor: Cursor, reading: Reading) -> None:
    label = cursor.take()
    end = label.end
    reading.has_labels = True
    cursor.skip_words(words.WITHOUT_MEANING)
    cursor.skip_kinds("colon")
    _go_to_figure_on_next_line(cursor)
    if cursor.is_word(words.SAME):
        cursor.remark("same-as-other-eye", cursor.take().span)
        return
    if _add_is_ahead(cursor):
        read_add(cursor, reading, None, whose=_side(label.text))
        return
    hanging = cursor.token
    if hanging.glued and hanging.start == end and hanging.kind == "number":
        cursor.remark("label-next-to-figure", (label.start, hanging.end), taken=hanging.text)
    if label.text in words.BOTH:
        eye = EyeText("right", label.span)
        _read_power(cursor, reading, eye)
        other = EyeText("left", label.span, eye.sphere, eye.cylinder, eye.axis, eye.add, eye.is_balance)
        other.prism, other.spans = list(eye.prism), dict(eye.spans)
        if eye.prism:
            cursor.remark("prism-for-both", label.span)
        _keep(cursor, reading, eye)
        _keep(cursor, reading, other)
        return
    eye = EyeText("right" if label.text in words.RIGHT else "left", label.span)
    _read_power(cursor, reading, eye)
    _keep(cursor, reading, eye)


def _side(label: str) -> Side:
    if label in words.BOTH:
        return "both"
    return "right" if label in words.RIGHT else "left"


def _go_to_figure_on_next_line(cursor: Cursor) -> None:
    """A label may stand on a line of its own, its figures below it."""
    here = cursor.at
    cursor.skip_kinds("line")
    if cursor.at > here and not (cursor.signed_ahead() or cursor.is_word(words.PLANO | words.BALANCE | words.SPHERE)):
        cursor.at = here


def _read_unlabelled(cursor: Cursor, reading: Reading) -> None:
    """Without a label the first eye is the right one, as is usual; it is remarked."""
    name: EyeName = "right" if reading.right is None else "left"
    start = cursor.token.span
    eye = EyeText(name, start)
    _read_power(cursor, reading, eye)
    cursor.remark("eye-not-labelled", start, eye=name, taken=name)
    _keep(cursor, reading, eye)


def _keep(cursor: Cursor, reading: Reading, eye: EyeText) -> None:
    there = reading.right if eye.eye == "right" else reading.left
    if there is not None:
        cursor.remark("eye-read-twice", eye.span, eye=eye.eye)
    elif eye.eye == "right":
        reading.right = eye
    else:
        reading.left = eye


def _read_power(cursor: Cursor, reading: Reading, eye: EyeText) -> None:
    _read_sphere(cursor, eye)
    if not eye.is_balance and "sphere" in eye.spans:
        _read_cylinder_and_axis(cursor, eye)
    _read_rest(cursor, reading, eye)


def _read_sphere(cursor: Cursor, eye: EyeText) -> None:
    cursor.skip_words(words.SPHERE)
    cursor.skip_kinds("colon", "cell")
    token = cursor.token
    if cursor.is_word(words.PLANO):
        cursor.take()
        eye.sphere, eye.spans["sphere"] = 0.0, token.span
    elif cursor.is_word(words.BALANCE):
        cursor.take()
        cursor.skip_words(words.WITHOUT_MEANING)
        eye.is_balance = True
        cursor.remark("balance-lens", token.span, eye=eye.eye)
        return
    else:
        figure = cursor.power(eye.eye)
        if figure is None:
            cursor.remark("sphere-not-found", eye.span, eye=eye.eye)
            return
        eye.sphere, eye.spans["sphere"] = figure.value, figure.span
    cursor.skip_words(words.POWER_UNIT)


def _read_cylinder_and_axis(cursor: Cursor, eye: EyeText) -> None:
    if cursor.skip_words(words.NO_CYLINDER):
        return
    here = cursor.at
    cursor.skip_lines_before(words.CYLINDER)
    cursor.skip_kinds("slash", "comma", "cell")
    named = cursor.skip_words(words.CYLINDER)
    cursor.skip_kinds("colon")
    if cursor.skip_words(words.NO_CYLINDER):
        return
    if named and cursor.is_word(words.PLANO):
        eye.cylinder, eye.spans["cylinder"] = 0.0, cursor.take().span
    elif named or cursor.signed_ahead() or _cylinder_without_sign_is_ahead(cursor):
        figure = cursor.power(eye.eye, follows_figure=True)
        if figure is None:
            cursor.remark("cylinder-not-found", eye.span, eye=eye.eye)
            return
        eye.cylinder, eye.spans["cylinder"] = figure.value, figure.span
    elif cursor.is_word(words.AXIS):
        _read_axis(cursor, eye)  # an axis without a cylinder: the rules say so
        return
    else:
        cursor.at = here
        return
    cursor.skip_words(words.POWER_UNIT | words.CYLINDER)
    _read_axis(cursor, eye)


def _cylinder_without_sign_is_ahead(cursor: Cursor) -> bool:
    """A number followed by an axis can only be a cylinder; without a sign it is refused by name, or it is 0."""
    token = cursor.token
    if token.kind != "number" or token.sign:
        return False
    return cursor.is_word(words.AXIS, by=1) or (token.has_point and float(token.digits) == 0)


def _read_axis(cursor: Cursor, eye: EyeText) -> None:
    here = cursor.at
    cursor.skip_lines_before(words.AXIS)
    cursor.skip_kinds("slash", "comma", "cell")
    marked = cursor.skip_words(words.AXIS)
    cursor.skip_kinds("colon")
    token = cursor.token
    if token.kind == "sign" and token.text == "-" and cursor.ahead(1).kind == "number" and not marked:
        lone = cursor.take()
        if _is_axis_figure(cursor):
            number = cursor.take()
            _take_axis(cursor, eye, number.digits, (lone.start, number.end), "dash-before-axis")
            return
    elif token.kind == "number" and token.sign:
        if marked:
            cursor.remark("axis-signed", cursor.take().span, eye=eye.eye)
            cursor.skip_words(words.DEGREE)
            return
        if token.sign == "-" and not token.has_point and len(token.digits) in (2, 3):
            cursor.take()
            _take_axis(cursor, eye, token.digits, token.span, "dash-before-axis")
            return
    elif _is_axis_figure(cursor) and (marked or len(token.digits) > 1 or cursor.is_word(words.DEGREE, by=1)):
        number_before = cursor.at
        if cursor.plain_number(eye.eye) is not None:
            _take_axis(cursor, eye, token.digits, token.span, "")
        elif cursor.at == number_before:
            cursor.take()
        return
    elif marked:
        if token.kind == "number":
            figure = cursor.plain_number(eye.eye)
            if figure is not None:
                cursor.remark("axis-not-whole-in-text", figure.span, eye=eye.eye, taken=figure.text)
        return  # a cylinder without an axis: the rules say so
    cursor.at = here


def _is_axis_figure(cursor: Cursor) -> bool:
    token = cursor.token
    return token.kind == "number" and not token.sign and not token.has_point and len(token.digits) <= 3


def _take_axis(cursor: Cursor, eye: EyeText, digits: str, span: tuple[int, int], code: str) -> None:
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


def _read_rest(cursor: Cursor, reading: Reading, eye: EyeText) -> None:
    """What may follow a power: on its own line only what names itself."""
    while not cursor.done:
        before = cursor.at
        cursor.skip_kinds("slash", "comma", "cell", "colon")
        if cursor.token.kind == "line":
            if not _eye_goes_on(cursor):
                return
            cursor.skip_kinds("line")
        if prism_is_ahead(cursor):
            read_prism(cursor, eye)
        elif cursor.add_column and cursor.token.kind == "number" and eye.axis is not None and "add" not in eye.spans:
            read_add(cursor, reading, eye)
        elif _set_aside(cursor) or _read_setting(cursor, reading, eye):
            continue
        elif cursor.is_word(words.WITHOUT_MEANING):
            cursor.take()
        else:
            cursor.at = max(before, cursor.at)
            return


def _eye_goes_on(cursor: Cursor) -> bool:
    """Whether the next line only adds prism to the same eye."""
    by = 0
    while cursor.ahead(by).kind == "line" and cursor.at + by < len(cursor.tokens):
        by += 1
    return cursor.is_word(words.PRISM, by=by)
