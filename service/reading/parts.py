"""The parts of a written prescription beside the power: add, prism, pupillary distance, vertex distance, dates."""

from service.reading import words
from service.reading.cursor import Cursor
from service.reading.text_reading import Base, EyeText, Reading, Side, Span

# A PD of one eye and that of both do not overlap: forty adults' halves are at most 37.5 mm.
_HALF_MOST_MM = 44.0
_VERTEX_MM = (5.0, 30.0)
_PD_MM = (10.0, 100.0)
_LARGEST_ADD_D = 10.0
_LARGEST_PRISM_PD = 60.0
_MOST_PRISMS = 4


def read_add(cursor: Cursor, reading: Reading, eye: EyeText | None, whose: Side | None = None) -> None:
    """A reading addition. `eye` is the one being read, `whose` what a label before it says.

    For an intermediate addition there is no member: it is remarked and set aside.
    """
    start = cursor.token.start
    intermediate = cursor.is_word(words.INTERMEDIATE)
    cursor.skip_words(words.NEAR | words.INTERMEDIATE)
    cursor.skip_words(words.ADD)
    cursor.skip_kinds("colon")
    whose = _label(cursor) or whose
    figure = cursor.power(None, sign_must_stand=False)
    if figure is None:
        cursor.remark("add-not-found", (start, cursor.ahead(-1).end))
        return
    cursor.skip_words(words.POWER_UNIT)
    if cursor.is_word(words.BOTH):
        whose = _label(cursor)
    span = (start, figure.span[1])
    if intermediate:
        cursor.remark("intermediate-add-set-aside", span)
    elif figure.value is None or figure.value <= _LARGEST_ADD_D:
        _give_add(cursor, reading, eye, figure.value, span, whose)
    else:
        cursor.remark("add-not-found", span)


def _label(cursor: Cursor) -> Side | None:
    if not cursor.is_word(words.EYES):
        return None
    text = cursor.take().text
    cursor.skip_words(words.WITHOUT_MEANING)
    cursor.skip_kinds("colon")
    if text in words.BOTH:
        return "both"
    return "right" if text in words.RIGHT else "left"


def _give_add(
    cursor: Cursor, reading: Reading, eye: EyeText | None, value: float | None, span: Span, whose: Side | None
) -> None:
    right = eye if eye is not None and eye.eye == "right" else reading.right
    left = eye if eye is not None and eye.eye == "left" else reading.left
    inferred = False
    if whose == "right" or whose == "left":
        targets = [right if whose == "right" else left]
    elif whose == "both":
        targets = [right, left]
    elif eye is None or _may_be_for_both(cursor, eye, left if eye.eye == "right" else right):
        targets, inferred = [right, left], True
    else:
        targets = [eye]
    if None in targets or any(target is not None and "add" in target.spans for target in targets):
        cursor.remark("add-not-placed", span)
        return
    if inferred:
        cursor.remark("one-add-for-both", span, value=value, taken="" if value is None else f"{value:+.2f}")
    for target in targets:
        if target is not None:
            target.add, target.spans["add"] = value, span


def _may_be_for_both(cursor: Cursor, eye: EyeText, other: EyeText | None) -> bool:
    """An add after the second eye on one line, the first having none, is usually meant for both."""
    return other is not None and "add" not in other.spans and _same_line(cursor, other, eye)


def _same_line(cursor: Cursor, one: EyeText, other: EyeText) -> bool:
    first, second = sorted((one.span[0], other.span[0]))
    return not any(token.kind == "line" and first < token.start < second for token in cursor.tokens)


def prism_is_ahead(cursor: Cursor) -> bool:
    """Whether a prism stands here: the word, or a figure followed by its unit or by a base."""
    if cursor.is_word(words.PRISM):
        return True
    if cursor.token.kind != "number" or cursor.token.sign:
        return False
    after = 1
    if cursor.is_word(words.PRISM_UNIT, by=1):
        if cursor.ahead(1).text != "pd":
            return cursor.ahead(1).text in ("δ", "prism") or _base_at(cursor, 2)
        after = 2
    return _base_at(cursor, after)


def _base_at(cursor: Cursor, by: int) -> bool:
    token = cursor.ahead(by)
    return token.kind == "word" and (
        token.text in words.BASE or token.text in words.BASES or token.text in words.DIRECTIONS
    )


def read_prism(cursor: Cursor, eye: EyeText) -> None:
    """One prism with its base, or several one after the other."""
    start = cursor.token.start
    cursor.skip_words(words.PRISM)
    cursor.skip_kinds("colon")
    number = cursor.plain_number(eye.eye)
    if number is None or len(number.digits) > 6 or len(eye.prism) == _MOST_PRISMS:
        cursor.remark("prism-not-found", (start, cursor.ahead(-1).end), eye=eye.eye)
        return
    cursor.skip_words(words.PRISM_UNIT)
    base = _base(cursor)
    span = (start, cursor.ahead(-1).end)
    if base is None:
        cursor.remark("prism-without-base", span, eye=eye.eye, value=float(number.digits))
        return
    if float(number.digits) > _LARGEST_PRISM_PD:
        cursor.remark("prism-not-found", span, eye=eye.eye)
        return
    eye.prism.append((float(number.digits), base))
    eye.spans.setdefault("prism", span)
    here = cursor.at
    cursor.skip_words(frozenset({"and"}))
    cursor.skip_kinds("slash", "comma")
    if prism_is_ahead(cursor):
        read_prism(cursor, eye)
    else:
        cursor.at = here


def _base(cursor: Cursor) -> Base | float | None:
    named = cursor.skip_words(words.BASE)
    cursor.skip_kinds("colon")
    token = cursor.token
    if token.kind == "word" and token.text in words.BASES and not named:
        return words.BASES[cursor.take().text]
    if token.kind == "word" and token.text in words.DIRECTIONS:
        return words.DIRECTIONS[cursor.take().text]
    if (named or cursor.is_word(frozenset({"@"}))) and _angle_is_ahead(cursor):
        cursor.skip_words(frozenset({"@"}))
        angle = float(cursor.take().digits)
        cursor.skip_words(words.DEGREE)
        return angle
    return None


def _angle_is_ahead(cursor: Cursor) -> bool:
    token = cursor.ahead(1 if cursor.is_word(frozenset({"@"})) else 0)
    return token.kind == "number" and not token.sign and float(token.digits) <= 360


def read_pupillary(cursor: Cursor, reading: Reading, eye: EyeText | None) -> None:
    """A PD: one figure, a pair of halves, a pair of distance and near, or one after each eye's label."""
    start = cursor.token.start
    first = cursor.take().text
    near = first in words.NEAR_PUPILLARY
    if first == "pupillary":
        cursor.skip_words(words.FAR)
    figures: list[tuple[str, float]] = []
    label = ""
    while not cursor.done:
        cursor.skip_kinds("colon", "slash", "comma")
        if (
            cursor.is_word(words.RIGHT | words.LEFT)
            and cursor.ahead(1).kind in ("number", "colon")
            and not (cursor.ahead(1).kind == "number" and cursor.ahead(1).sign)
        ):
            label = "right" if cursor.take().text in words.RIGHT else "left"
        elif cursor.is_word(words.NEAR) and not cursor.is_word(words.ADD, by=1):
            cursor.take()
            label = "near"
        elif cursor.is_word(words.FAR | words.MILLIMETRE):
            cursor.take()
        elif cursor.token.kind == "number" and not cursor.token.sign and len(figures) < 4:
            if prism_is_ahead(cursor):
                break
            number = cursor.plain_number()
            if number is None:
                return
            figures.append((label or ("near" if near else ""), float(number.digits)))
            label = ""
        else:
            break
    span = (start, cursor.ahead(-1).end)
    if not _give_pupillary(reading, eye, figures, span):
        cursor.remark("pd-not-clear", span)
    elif (
        len(figures) == 2
        and figures[0] != figures[1]
        and all(not name for name, _ in figures)
        and max(value for _, value in figures) <= _HALF_MOST_MM
    ):
        cursor.remark("pd-right-before-left", span, taken=f"{figures[0][1]:g}")


def _give_pupillary(reading: Reading, eye: EyeText | None, figures: list[tuple[str, float]], span: Span) -> bool:
    pd = reading.pd
    bare = [value for name, value in figures if not name]
    named = {name: value for name, value in figures if name}
    if not figures or len(named) + len(bare) != len(figures):
        return False
    if not all(_PD_MM[0] <= value <= _PD_MM[1] for _, value in figures):
        return False
    given: dict[str, float] = dict(named)
    if len(bare) == 1 and not ({"right", "left"} & named.keys()):
        half = bare[0] <= _HALF_MOST_MM
        if half and eye is None:
            return False
        given[eye.eye if half and eye is not None else "both"] = bare[0]
    elif len(bare) == 2 and not named:
        if max(bare) <= _HALF_MOST_MM:
            given["right"], given["left"] = bare
        elif min(bare) > _HALF_MOST_MM and bare[0] > bare[1]:
            given["both"], given["near"] = bare
        else:
            return False
    elif bare:
        return False
    if any(getattr(pd, name) is not None for name in given):
        return False
    for name, value in given.items():
        setattr(pd, name, value)
    pd.span = span
    return True


def read_vertex(cursor: Cursor, reading: Reading) -> None:
    """A vertex distance in millimetres."""
    start = cursor.take().start
    cursor.skip_words(words.FAR)
    cursor.skip_kinds("colon")
    number = cursor.plain_number()
    span = (start, cursor.ahead(-1).end)
    cursor.skip_words(words.MILLIMETRE)
    least, most = _VERTEX_MM
    if number is None or not least <= float(number.digits) <= most or reading.vertex_mm is not None:
        cursor.remark("vertex-distance-not-clear", span)
        return
    reading.vertex_mm, reading.vertex_span = float(number.digits), span


def read_date(cursor: Cursor) -> None:
    """A date is set aside: day and month may be exchanged, so it goes into a field of its own."""
    start = cursor.token.start
    cursor.skip_words(words.DATE)
    cursor.skip_kinds("colon")
    if not cursor.done and cursor.token.kind == "date":
        cursor.take()
    cursor.remark("date-set-aside", (start, cursor.ahead(-1).end))


def read_contact(cursor: Cursor) -> None:
    """Contact-lens data: refused as a whole, with the figure that belongs to it."""
    start = cursor.token.start
    cursor.skip_words(words.CONTACT)
    cursor.skip_kinds("colon")
    if cursor.token.kind == "number" and not cursor.token.sign:
        cursor.take()
    cursor.remark("contact-lens-data", (start, cursor.ahead(-1).end))
