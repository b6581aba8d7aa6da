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
    add_is_ahead,
    prism_is_ahead,
    pupillary_is_ahead,
    read_acuity,
    read_add,
    read_contact,
    read_date,
    read_prism,
    read_pupillary,
    read_vertex,
)
from service.reading.power import keep_eye, power_is_ahead, read_power
from service.reading.table import header_is_ahead, plain_header_is_ahead, read_plain_header, read_table
from service.reading.text_reading import EyeName, EyeText, Reading, Side
from service.reading.tokens import tokens

_BETWEEN = ("comma", "cell", "colon", "slash", "mark")
# A text with more to say about it than this is no prescription: the rest is reported as one.
_MOST_REMARKS = 40


def read_text(text: str) -> Reading:
    """Read a text. Bounded work: every step moves past a token."""
    cursor = Cursor(text, tokens(text))
    reading = Reading()
    while not cursor.done:
        if len(cursor.remarks) >= _MOST_REMARKS:
            cursor.remark("text-left-over", (cursor.token.start, len(text)))
            break
        before = cursor.at
        _read_item(cursor, reading)
        if cursor.at == before:
            _leave_over(cursor)
    reading.remarks = cursor.remarks
    return reading


def _read_item(cursor: Cursor, reading: Reading) -> None:
    token = cursor.token
    begins_line = cursor.at == 0 or cursor.ahead(-1).kind == "line"
    if begins_line and header_is_ahead(cursor):
        read_table(cursor, reading)
    elif begins_line and plain_header_is_ahead(cursor):
        read_plain_header(cursor)
    elif token.kind == "line":
        cursor.skip_kinds("line")
    elif token.kind in _BETWEEN:
        cursor.skip_kinds(*_BETWEEN)
    elif token.kind == "word" and token.text in words.EYES:
        _read_labelled(cursor, reading)
    elif _set_aside(cursor) or _read_setting(cursor, reading, None):
        return
    elif not reading.has_labels and power_is_ahead(cursor):
        _read_unlabelled(cursor, reading)
    elif cursor.is_word(words.WITHOUT_MEANING | words.FAR):
        cursor.take()


def _leave_over(cursor: Cursor) -> None:
    """Report what nothing could use; neighbours are reported together."""
    token = cursor.token
    if token.kind == "number" and not token.sign:
        if cursor.plain_number() is not None:
            cursor.remark("power-unsigned" if token.has_point else "figure-left-over", token.span)
    elif cursor.signed_ahead():
        if token.kind != "number":
            cursor.take()
        cursor.remark("figure-left-over", (token.start, cursor.take().end))
    elif token.kind == "word" and token.text in words.SAME:
        cursor.remark("same-as-other-eye", cursor.take().span)
    else:
        cursor.take()
        cursor.leave_over(token.span)


def _set_aside(cursor: Cursor) -> bool:
    """Visual acuities, dates and the like: recognised, remarked, not used."""
    token = cursor.token
    if token.kind == "acuity" or (
        token.kind == "word" and (token.text in words.ACUITY or _near_acuity_is_ahead(cursor))
    ):
        read_acuity(cursor)
    elif token.kind == "date" or (token.kind == "word" and token.text in words.DATE):
        read_date(cursor)
    elif token.kind == "word" and token.text in words.CONTACT:
        read_contact(cursor)
    else:
        return False
    return True


def _near_acuity_is_ahead(cursor: Cursor) -> bool:
    """N5, N8 and so on: print sizes for reading."""
    figure = cursor.ahead(1)
    return cursor.token.text == "n" and figure.kind == "number" and figure.glued and not figure.sign


def _read_setting(cursor: Cursor, reading: Reading, eye: EyeText | None) -> bool:
    if add_is_ahead(cursor):
        read_add(cursor, reading, eye)
    elif pupillary_is_ahead(cursor):
        read_pupillary(cursor, reading, eye)
    elif cursor.is_word(words.VERTEX):
        read_vertex(cursor, reading)
    else:
        return False
    return True


def _read_labelled(cursor: Cursor, reading: Reading) -> None:
    label = cursor.take()
    end = label.end
    side = words.side_of(label.text)
    _skip_second_label(cursor, side)
    _go_to_figure_on_next_line(cursor)
    if cursor.token.kind == "acuity":
        return
    reading.has_labels = True
    if cursor.is_word(words.SAME):
        cursor.remark("same-as-other-eye", cursor.take().span)
    elif add_is_ahead(cursor):
        read_add(cursor, reading, None, whose=side)
    else:
        hanging = cursor.token
        if hanging.glued and hanging.start == end and hanging.kind == "number":
            cursor.remark("label-next-to-figure", (label.start, hanging.end), taken=hanging.text)
        _read_eye(cursor, reading, EyeText("left" if side == "left" else "right", label.span), both=side == "both")


def _read_eye(cursor: Cursor, reading: Reading, eye: EyeText, *, both: bool) -> None:
    read_power(cursor, eye)
    _read_rest(cursor, reading, eye, both=both)
    if both:
        other = EyeText("left", eye.span, eye.sphere, eye.cylinder, eye.axis, eye.add, eye.is_balance)
        other.prism, other.spans = list(eye.prism), dict(eye.spans)
        if eye.prism:
            cursor.remark("prism-for-both", eye.span)
        keep_eye(cursor, reading, other)
    keep_eye(cursor, reading, eye)


def _skip_second_label(cursor: Cursor, side: Side) -> None:
    """An eye may be named twice: "R (OD)", "OD / right eye". A name of the other eye is left where it is."""
    while True:
        cursor.skip_words(words.WITHOUT_MEANING)
        cursor.skip_kinds("colon")
        by = 0
        while cursor.ahead(by).kind in ("mark", "slash") and cursor.at + by < len(cursor.tokens):
            by += 1
        if not cursor.is_word(words.EYES, by=by) or words.side_of(cursor.ahead(by).text) != side:
            cursor.skip_kinds("mark", "equals")
            return
        cursor.at += by + 1
        cursor.skip_words(words.WITHOUT_MEANING)
        cursor.skip_kinds("mark")


def _go_to_figure_on_next_line(cursor: Cursor) -> None:
    """A label may stand on a line of its own, its figures below it."""
    here = cursor.at
    cursor.skip_kinds("line")
    if cursor.at > here and not power_is_ahead(cursor):
        cursor.at = here


def _read_unlabelled(cursor: Cursor, reading: Reading) -> None:
    """Without a label the first eye is the right one, as is usual; it is remarked."""
    name: EyeName = "right" if reading.right is None else "left"
    start = cursor.token.span
    cursor.remark("eye-not-labelled", start, eye=name, taken=name)
    _read_eye(cursor, reading, EyeText(name, start), both=False)


def _read_rest(cursor: Cursor, reading: Reading, eye: EyeText, *, both: bool) -> None:
    """What may follow a power: on its own line only what names itself."""
    whose = None if both else eye
    while not cursor.done:
        cursor.skip_kinds("slash", "comma", "cell", "colon", "mark")
        if cursor.token.kind == "line":
            if not _eye_goes_on(cursor, reading, eye):
                return
            cursor.skip_kinds("line")
        if prism_is_ahead(cursor):
            read_prism(cursor, eye)
        elif cursor.add_column and cursor.token.kind == "number" and eye.axis is not None and "add" not in eye.spans:
            read_add(cursor, reading, eye)
        elif both and add_is_ahead(cursor):
            read_add(cursor, reading, eye, whose="right")  # copied to the other eye with the rest
        elif _set_aside(cursor) or _read_setting(cursor, reading, whose):
            continue
        elif cursor.is_word(words.WITHOUT_MEANING):
            cursor.take()
        else:
            return


def _eye_goes_on(cursor: Cursor, reading: Reading, eye: EyeText) -> bool:
    """Whether the next line adds prism or an addition to the same eye.

    After the second eye such a line may be meant for both: it belongs to the second one only if the first has its own.
    """
    other = reading.left if eye.eye == "right" else reading.right
    by = 0
    while cursor.ahead(by).kind == "line" and cursor.at + by < len(cursor.tokens):
        by += 1
    if cursor.is_word(words.PRISM, by=by):
        return other is None or bool(other.prism)
    if cursor.is_word(words.ADD, by=by) and not cursor.is_word(words.EYES, by=by + 1):
        return other is None or other.add is not None
    return False
