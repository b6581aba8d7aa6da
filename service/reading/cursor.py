"""A place among the tokens, and the figures that can be read there."""

from dataclasses import dataclass, field

from service.reading import words
from service.reading.text_reading import EyeName, Remark, Span
from service.reading.tokens import Token

# Whole dioptres up to here are read as written; two figures without a point may be hundredths.
_LARGEST_WHOLE_D = 20
# Beyond these nothing is a power; the rules on powers judge what lies below.
_LARGEST_D = 999.0
_LONGEST_FIGURE = 8
# Tokens looked back for the opening bracket.
_LONGEST_BRACKET = 12
_END = Token("line", "", 0, 0, False)


@dataclass(frozen=True, slots=True)
class Figure:
    """A power as read: its value, or None where it must not be taken for one, and its place."""

    value: float | None
    span: Span
    has_point: bool = True


@dataclass(slots=True)
class Cursor:
    """Walks over the tokens; what is remarked on the way is kept."""

    text: str
    tokens: tuple[Token, ...]
    at: int = 0
    remarks: list[Remark] = field(default_factory=list)
    add_column: bool = False

    @property
    def done(self) -> bool:
        return self.at >= len(self.tokens)

    @property
    def token(self) -> Token:
        return self.ahead(0)

    def ahead(self, by: int) -> Token:
        """The token so many places on; an end of line beyond the last."""
        place = self.at + by
        return self.tokens[place] if 0 <= place < len(self.tokens) else _END

    def take(self) -> Token:
        """The token here; the cursor moves past it."""
        token = self.token
        self.at += 1
        return token

    def is_word(self, among: frozenset[str], by: int = 0) -> bool:
        token = self.ahead(by)
        return token.kind == "word" and token.text in among

    def skip_words(self, among: frozenset[str]) -> bool:
        """Move past words of this meaning; says whether there were any."""
        before = self.at
        while not self.done and self.is_word(among):
            self.at += 1
        return self.at > before

    def skip_kinds(self, *kinds: str) -> None:
        """Move past tokens of these kinds."""
        while not self.done and self.token.kind in kinds:
            self.at += 1

    def skip_lines_before(self, among: frozenset[str]) -> None:
        """Move past ends of lines if a word of this meaning follows them."""
        by = 0
        while self.at + by < len(self.tokens) and self.ahead(by).kind == "line":
            by += 1
        if by and self.is_word(among, by=by):
            self.at += by

    def remark(
        self,
        code: str,
        span: Span,
        *,
        eye: EyeName | None = None,
        value: float | None = None,
        taken: str = "",
    ) -> None:
        self.remarks.append(Remark(code, span, self.text[span[0] : span[1]], eye, value, taken))

    def leave_over(self, span: Span) -> None:
        """Remark that this place was not understood, together with the one just before it."""
        last = self.remarks[-1] if self.remarks else None
        if last is not None and last.code == "text-left-over" and not self.text[last.span[1] : span[0]].strip():
            self.remarks.pop()
            span = (last.span[0], span[1])
        self.remark("text-left-over", span)

    def signed_ahead(self) -> bool:
        """Whether a figure with a sign, or the words minus or plus, stands here."""
        token = self.token
        if token.kind == "number":
            return bool(token.sign)
        if token.kind == "sign" or self.is_word(words.MINUS | words.PLUS):
            follower = self.ahead(1)
            return follower.kind == "number" and not follower.sign
        return False

    def power(
        self, eye: EyeName | None, *, sign_must_stand: bool = True, follows_figure: bool = False
    ) -> Figure | None:
        """A power here, with its sign; None, and the cursor unmoved, where there is no figure."""
        start = self.token.start
        by_word = self.is_word(words.MINUS | words.PLUS)
        stands_apart = self.token.kind == "sign" or by_word
        if self.ahead(1 if stands_apart else 0).kind != "number":
            return None
        sign = ""
        if stands_apart:
            lead = self.take().text
            sign = ("-" if lead in words.MINUS else "+") if by_word else lead
            if self.token.sign:
                span = (start, self.take().end)
                self.remark("sign-doubled", span, eye=eye)
                return Figure(None, span)
        if stands_apart and not by_word:
            code = "dash-taken-as-minus" if follows_figure and sign == "-" else "sign-apart"
            self.remark(code, (start, self.token.end), eye=eye, taken=f"{sign}{self.token.digits}")
        number = self.take()
        span = (start, number.end)
        if not self._is_whole_figure(number, eye):
            return Figure(None, span)
        return self._figure(number, sign or number.sign, span, eye, sign_must_stand=sign_must_stand)

    def _figure(self, number: Token, sign: str, span: Span, eye: EyeName | None, *, sign_must_stand: bool) -> Figure:
        digits = number.digits
        if len(digits) > _LONGEST_FIGURE or (float(digits) > _LARGEST_D and number.has_point):
            self.remark("figure-not-clear", span, eye=eye)
            return Figure(None, span)
        value = float(digits) if number.has_point else self._without_point(digits, span, eye)
        if value is None:
            return Figure(None, span)
        if not sign and value != 0 and sign_must_stand:
            self.remark("power-unsigned", span, eye=eye)
            return Figure(None, span)
        if value != 0 and number.has_point and number.has_idle_nought:
            self.remark("nought-too-many", span, eye=eye, taken=f"{value:.2f}")
        return Figure(-value + 0.0 if sign == "-" else value, span, number.has_point)

    def _without_point(self, digits: str, span: Span, eye: EyeName | None) -> float | None:
        """Whole dioptres or hundredths? One figure is whole; three or four that are hundredths are inferred."""
        whole = int(digits)
        if len(digits) == 1 or whole == 0:
            return float(whole)
        if len(digits) in (3, 4) and whole % 25 == 0:
            self.remark("hundredths-without-point", span, eye=eye, taken=f"{whole / 100:.2f}")
            return whole / 100
        if len(digits) == 2 and digits[0] != "0" and whole <= _LARGEST_WHOLE_D:
            self.remark("whole-dioptres", span, eye=eye, taken=f"{whole:.2f}")
            return float(whole)
        self.remark("power-without-point", span, eye=eye)
        return None

    def _is_whole_figure(self, number: Token, eye: EyeName | None) -> bool:
        """Whether nothing hangs on the figure that could belong to it: a letter for a digit, a second point."""
        follower = self.token
        if self.done or not follower.glued or follower.start != number.end:
            return True
        hangs_letter = follower.kind == "word" and follower.text not in _MAY_HANG and not follower.text.startswith("x")
        # One decimal and an S: a 5 may be meant.
        hangs_letter = hangs_letter or (follower.text == "s" and len(number.digits.partition(".")[2]) == 1)
        hangs_digit = follower.kind == "number" and not follower.sign
        hangs_point = follower.text in (".", ",") and self.ahead(1).kind == "number" and self.ahead(1).glued
        if (
            follower.kind in ("unknown", "equals")
            or self._is_loose_mark(follower)
            or hangs_letter
            or hangs_digit
            or hangs_point
        ):
            end = self.take().end
            while (
                not self.done
                and self.token.glued
                and self.token.kind in ("number", "word", "colon", "mark", "equals", "unknown")
            ):
                end = self.take().end
            code = "letter-for-digit" if hangs_letter else "figure-not-clear"
            self.remark(code, (number.start, end), eye=eye)
            return False
        return True

    def _is_loose_mark(self, token: Token) -> bool:
        """A bracket that closes nothing: 18) is 180 typed with the shift key held."""
        if token.kind != "mark":
            return False
        before = [one.text for one in self.tokens[max(0, self.at - _LONGEST_BRACKET) : self.at] if one.kind == "mark"]
        return token.text in "([" or not before or before[-1] not in ("(", "[")

    def plain_number(self, eye: EyeName | None = None) -> Token | None:
        """A number without a sign, nothing hanging on it; None, and the cursor unmoved, where there is none."""
        if self.token.kind != "number" or self.token.sign:
            return None
        number = self.take()
        return number if self._is_whole_figure(number, eye) else None


# What may stand right behind a figure: units, and words that begin the next part.
_MAY_HANG = (
    words.POWER_UNIT
    | words.DEGREE
    | words.MILLIMETRE
    | words.NO_CYLINDER
    | words.CYLINDER
    | words.AXIS
    | words.PRISM_UNIT
    | frozenset(words.BASES)
    | words.BASE
    | words.ADD
)
