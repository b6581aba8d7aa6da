"""The parts of a written prescription beside the power: add, prism, pupillary distance, vertex distance, dates."""

import re

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
_MOST_PD_ITEMS = 8
_BEST_ACUITY = 3.0
_PUPILLARY = words.PUPILLARY | words.FAR_PUPILLARY | words.NEAR_PUPILLARY


def add_is_ahead(cursor: Cursor) -> bool:
    """Whether an addition stands here: the word add, or near or intermediate before it."""
    if cursor.is_word(words.ADD):
        return True
    return cursor.is_word(words.NEAR | words.INTERMEDIATE) and cursor.is_word(words.ADD, by=1)


def read_add(cursor: Cursor, reading: Reading, eye: EyeText | None, whose: Side | None = None) -> None:
    """A reading addition. `eye` is the one being read, `whose` what a label before it says.

    For an intermediate addition there is no member: it is remarked and set aside.
    """
    start = cursor.token.start
    intermediate = cursor.is_word(words.INTERMEDIATE)
    cursor.skip_words(words.NEAR | words.INTERMEDIATE)
    cursor.skip_words(words.ADD)
    cursor.skip_kinds("colon", "mark", "equals")
    named = _label(cursor)
    whose = named or whose
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
    elif figure.value is None or 0 < abs(figure.value) <= _LARGEST_ADD_D:
        _give_add(cursor, reading, eye, figure.value, span, whose)
    else:
        cursor.remark("add-not-found", span)
    if named in ("right", "left"):
        _read_other_add(cursor, reading, eye)


def _read_other_add(cursor: Cursor, reading: Reading, eye: EyeText | None) -> None:
    """The second half of "add R +2.00 L +2.25": both eyes have their powers already."""
    here = cursor.at
    cursor.skip_kinds("comma", "slash")
    read = {one.eye for one in (reading.right, reading.left, eye) if one is not None}
    if cursor.is_word(words.RIGHT | words.LEFT) and len(read) == 2:
        read_add(cursor, reading, eye)
    else:
        cursor.at = here


def _label(cursor: Cursor) -> Side | None:
    if not cursor.is_word(words.EYES):
        return None
    text = cursor.take().text
    cursor.skip_words(words.WITHOUT_MEANING)
    cursor.skip_kinds("colon")
    return words.side_of(text)


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
    elif eye is None and right is not None and left is not None and ("add" in right.spans) != ("add" in left.spans):
        targets = [left if "add" in right.spans else right]
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
    cursor.skip_kinds("colon", "equals")
    number = cursor.plain_number(eye.eye)
    if number is None or number.has_idle_nought or len(number.digits) > 6 or len(eye.prism) == _MOST_PRISMS:
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
    cursor.skip_words(frozenset({"and", "&"}))
    cursor.skip_kinds("slash", "comma")
    if cursor.token.kind == "sign" and cursor.token.text == "+":
        cursor.take()
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


def pupillary_is_ahead(cursor: Cursor) -> bool:
    """Whether a PD stands here: its word, or near or distance before it."""
    if cursor.is_word(_PUPILLARY):
        return True
    return cursor.is_word(words.NEAR | words.FAR) and cursor.is_word(_PUPILLARY, by=1)


def read_pupillary(cursor: Cursor, reading: Reading, eye: EyeText | None, *, named: bool = True) -> None:
    """A PD: one figure, a pair of halves, a pair of distance and near, or one after each eye's label."""
    start = cursor.token.start
    items: list[str | float] = ["near"] if cursor.is_word(words.NEAR | words.NEAR_PUPILLARY) else []
    if named and cursor.take().text not in _PUPILLARY:
        cursor.take()
    while not cursor.done and len(items) < _MOST_PD_ITEMS:
        cursor.skip_kinds("colon", "mark", "equals", "slash", "comma", "cell")
        if cursor.is_word(words.RIGHT | words.LEFT) and _figure_follows_label(cursor):
            items.append("right" if cursor.take().text in words.RIGHT else "left")
        elif cursor.is_word(words.NEAR | words.NEAR_PUPILLARY) and not cursor.is_word(words.ADD, by=1):
            cursor.take()
            items.append("near")
        elif cursor.is_word(words.FAR | words.FAR_PUPILLARY):
            cursor.take()
            items.append("both")
        elif cursor.is_word(words.MILLIMETRE | words.PUPILLARY):
            cursor.take()
        elif cursor.token.kind == "number" and not cursor.token.sign and not prism_is_ahead(cursor):
            number = cursor.plain_number()
            if number is None:
                return
            # With two decimals the point may part two figures.
            items.append(-1.0 if number.has_two_decimals else float(number.digits))
        else:
            break
    span = (start, cursor.ahead(-1).end)
    figures = _labelled(items)
    if figures is None or not _give_pupillary(reading, eye, figures, span):
        cursor.remark("pd-not-clear", span)
    elif _is_inferred_order(figures):
        cursor.remark("pd-right-before-left", span, taken=f"{figures[0][1]:g}")


def _labelled(items: list[str | float]) -> list[tuple[str, float]] | None:
    """Figures with their words: before each, or after each where the words come last."""
    if len(items) > 1 and isinstance(items[0], float) and isinstance(items[-1], str):
        items = items[::-1]
    found: list[tuple[str, float]] = []
    label = ""
    for item in items:
        if isinstance(item, float):
            found.append((label, item))
            label = ""
        elif label and label != item:
            return None
        else:
            label = item
    return None if label else sorted(found, key=lambda figure: figure[0] == "near")


def _figure_follows_label(cursor: Cursor) -> bool:
    by = 1
    while cursor.ahead(by).kind == "colon":
        by += 1
    return cursor.ahead(by).kind == "number" and not cursor.ahead(by).sign and not cursor.ahead(by).has_two_decimals


def _is_inferred_order(figures: list[tuple[str, float]]) -> bool:
    halves = [value for name, value in figures if not name and value <= _HALF_MOST_MM]
    return len(halves) == 2 and halves[0] != halves[1]


def _give_pupillary(reading: Reading, eye: EyeText | None, figures: list[tuple[str, float]], span: Span) -> bool:
    bare = [value for name, value in figures if not name]
    given = {name: value for name, value in figures if name}
    if not figures or len(given) + len(bare) != len(figures):
        return False
    if not all(_PD_MM[0] <= value <= _PD_MM[1] for _, value in figures):
        return False
    if any(given.get(name, 0.0) > _HALF_MOST_MM for name in ("right", "left")):
        return False
    if any(given.get(name, _PD_MM[1]) <= _HALF_MOST_MM for name in ("both", "near")):
        return False
    named = _named(bare, eye, given)
    if named is None:
        return False
    given |= named
    pd = reading.pd
    if any(getattr(pd, name) not in (None, value) for name, value in given.items()):
        return False
    for name, value in given.items():
        setattr(pd, name, value)
    pd.span = span
    return True


def _named(bare: list[float], eye: EyeText | None, given: dict[str, float]) -> dict[str, float] | None:
    """What figures without a label are: one, a pair of halves, or distance and near."""
    if not bare:
        return {}
    if {"right", "left"} & given.keys() or len(bare) > 2 or (len(bare) == 2 and given):
        return None
    if len(bare) == 1:
        if bare[0] > _HALF_MOST_MM:
            return {"both": bare[0]}
        return None if eye is None else {eye.eye: bare[0]}
    if max(bare) <= _HALF_MOST_MM:
        return {"right": bare[0], "left": bare[1]}
    if min(bare) > _HALF_MOST_MM and bare[0] > bare[1]:
        return {"both": bare[0], "near": bare[1]}
    return None


def read_vertex(cursor: Cursor, reading: Reading) -> None:
    """A vertex distance in millimetres; it may be repeated for each eye."""
    start = cursor.token.start
    cursor.skip_words(words.VERTEX | words.FAR)
    cursor.skip_kinds("colon", "mark", "equals")
    number = cursor.plain_number()
    span = (start, cursor.ahead(-1).end)
    cursor.skip_words(words.MILLIMETRE)
    least, most = _VERTEX_MM
    if (
        number is None
        or not least <= float(number.digits) <= most
        or reading.vertex_mm not in (None, float(number.digits))
    ):
        cursor.remark("vertex-distance-not-clear", span)
    else:
        reading.vertex_mm, reading.vertex_span = float(number.digits), span


def read_acuity(cursor: Cursor) -> None:
    """Visual acuities, with the labels and words that belong to them."""
    if cursor.token.text == "n":
        cursor.remark("acuity-set-aside", (cursor.take().start, cursor.take().end))
    while not cursor.done:
        cursor.skip_words(words.ACUITY)
        here = cursor.at
        cursor.skip_kinds("colon")
        if cursor.is_word(words.EYES) and cursor.ahead(1).kind == "acuity":
            cursor.take()
        if cursor.token.kind != "acuity" and not _decimal_acuity_is_ahead(cursor, here):
            cursor.at = here
            return
        cursor.remark("acuity-set-aside", cursor.take().span)


def _decimal_acuity_is_ahead(cursor: Cursor, after_word: int) -> bool:
    token = cursor.token
    named = after_word > 0 and cursor.tokens[after_word - 1].text in words.ACUITY
    return (
        named and token.kind == "number" and not token.sign and token.has_point and float(token.digits) <= _BEST_ACUITY
    )


def read_date(cursor: Cursor) -> None:
    """A date is set aside: day and month may be exchanged, so it goes into a field of its own."""
    start = cursor.token.start
    cursor.skip_words(words.DATE)
    cursor.skip_kinds("colon", "mark", "equals")
    possible = True
    if not cursor.done and cursor.token.kind == "date":
        possible = _can_be_a_date(cursor.take().text)
    span = (start, cursor.ahead(-1).end)
    cursor.remark("date-set-aside" if possible else "figure-not-clear", span)


def _can_be_a_date(text: str) -> bool:
    figures = [int(figure) for figure in re.findall(r"\d+", text)]
    if len(figures) == 2:  # the month is a word
        return 1 <= figures[0] <= 31 and 1900 <= figures[1] <= 2100
    year, *rest = figures if figures[0] > 31 else [figures[2], figures[0], figures[1]]
    in_range = 1900 <= year <= 2100 or year < 100
    return in_range and all(1 <= part <= 31 for part in rest) and min(rest) <= 12


def read_contact(cursor: Cursor) -> None:
    """Contact-lens data: refused as a whole, with the figure that belongs to it."""
    start = cursor.token.start
    cursor.skip_words(words.CONTACT)
    cursor.skip_kinds("colon")
    if cursor.token.kind == "number" and not cursor.token.sign:
        cursor.take()
    cursor.remark("contact-lens-data", (start, cursor.ahead(-1).end))
