"""Prescriptions of quarter dioptres, the canonical line of each, and other spellings of the same figures.

Nothing here leans on the reader: figures become text by the rules of this file alone.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random
from typing import Final

from written_answers import Eye, Pair

_BASES: Final = ("in", "out", "up", "down")
_LABELS: Final = (
    ("R", "L"),
    ("r", "l"),
    ("RE", "LE"),
    ("OD", "OS"),
    ("od", "os"),
    ("O.D.", "O.S."),
    ("R.E.", "L.E."),
    ("Right", "Left"),
    ("RIGHT EYE", "LEFT EYE"),
    ("right eye", "left eye"),
    ("Rt", "Lt"),
)
_BETWEEN_EYES: Final = ("\n", "\r\n", "  ", " ", "; ", ", ", " / ", "\n\n")
_MINUS: Final = "-−–‐－"
_PLUS: Final = "++＋"


def random_pair(random: Random) -> Pair:
    """A pair that no rule on figures asks about: alike eyes, equal adds."""
    sign = random.choice((-1, -1, 1))
    sphere = 0.25 * random.randint(0, 24)
    other = max(0.0, sphere + 0.25 * random.randint(-4, 4))
    add = 0.25 * random.randint(3, 14) if random.random() < 0.35 else None
    plus = random.random() < 0.3
    return Pair(_random_eye(random, sign * sphere, add, plus), _random_eye(random, sign * other, add, plus))


def _random_eye(random: Random, sphere: float, add: float | None, plus: bool) -> Eye:
    cylinder, axis = 0.0, None
    if random.random() < 0.75:
        cylinder = 0.25 * random.randint(1, 10) * (1 if plus else -1)
        axis = float(random.randint(1, 180))
    prism: list[tuple[float, str | float]] = []
    if random.random() < 0.35:
        base = random.choice(_BASES) if random.random() < 0.8 else float(random.randint(0, 360))
        prism.append((0.25 * random.randint(1, 20), base))
        if base in ("in", "out") and random.random() < 0.4:
            prism.append((0.25 * random.randint(1, 12), random.choice(("up", "down"))))
    return Eye(sphere + 0.0, cylinder, axis, add, tuple(prism))


def minus_form(eye: Eye) -> Eye:
    """The same lens written with a minus cylinder."""
    if eye.cylinder <= 0 or eye.axis is None:
        return eye
    axis = eye.axis + 90 if eye.axis <= 90 else eye.axis - 90
    return Eye(eye.sphere + eye.cylinder, -eye.cylinder, axis, eye.add, eye.prism)


def canonical(pair: Pair) -> str:
    """The one line that the service itself writes."""
    return f"R {_canonical_eye(pair.right)}  L {_canonical_eye(pair.left)}"


def _canonical_eye(eye: Eye) -> str:
    eye = minus_form(eye)
    power = f"{eye.sphere + 0.0:+.2f}"
    power += " DS" if eye.axis is None else f" {eye.cylinder:+.2f} x {eye.axis:03.0f}"
    power += "" if eye.add is None else f" add {eye.add:+.2f}"
    return power + "".join(
        f" prism {amount:g} base {base if isinstance(base, str) else f'{base:g}'}" for amount, base in eye.prism
    )


@dataclass(frozen=True, slots=True)
class Hand:
    """The habits of one writer, kept through one text."""

    random: Random
    minus: str
    plus: str
    comma: bool
    bare_point: bool
    wide: bool
    blank: str

    def pick(self, *choices: str) -> str:
        return self.random.choice(choices)

    def figure(self, value: float, decimals: int = 2) -> str:
        text = f"{value:.{decimals}f}"
        if self.bare_point and text.startswith("0.") and value:
            text = text[1:]
        return self.wrote(text)

    def wrote(self, text: str) -> str:
        text = text.replace(".", ",") if self.comma else text
        return "".join(chr(0xFEE0 + ord(c)) if c.isdigit() else c for c in text) if self.wide else text

    def signed(self, value: float) -> str:
        if self.minus == "minus ":
            return f"{'minus' if value < 0 else 'plus'} {self.figure(abs(value))}"
        return f"{self.minus if value < 0 else self.plus}{self.figure(abs(value))}"


def spelling(pair: Pair, random: Random) -> str:
    """One of very many ways to write the pair."""
    words = random.random() < 0.06
    hand = Hand(
        random,
        minus="minus " if words else random.choice(_MINUS),
        plus=random.choice(_PLUS),
        comma=random.random() < 0.25,
        bare_point=random.random() < 0.2,
        wide=random.random() < 0.06,
        blank=random.choice((" ", " ", " ", "  ", "\u00a0", "\u2009")),
    )
    has_prism = bool(pair.right.prism or pair.left.prism)
    ways: list[Callable[[Pair, Hand], str]] = [_lines, _lines, _lines, _named_fields]
    if not has_prism:
        ways += [_table, _plain_table]
    text = random.choice(ways)(pair, hand)
    return random.choice((text, text, text, text.upper(), text.lower()))


def _lines(pair: Pair, hand: Hand) -> str:
    labels = hand.random.choice(_LABELS)
    after = hand.pick(" ", " ", ": ", ":", ":  ", ". ", "\n", ":\n")
    style = hand.random.randrange(len(_AXIS_MARKS))
    eyes = [
        f"{label}{after}{_power(eye, hand, style)}" for label, eye in zip(labels, (pair.right, pair.left), strict=True)
    ]
    if hand.random.random() < 0.3:
        eyes.reverse()
    return hand.pick(*_BETWEEN_EYES).join(eyes)


_AXIS_MARKS: Final = (
    " x ",
    "x",
    " X ",
    "X",
    " × ",
    "×",
    " @ ",
    "@",
    " ax ",
    " axis ",
    " Ax. ",
    " axis: ",
    "/",
    " / ",
    " ",
    ", ",
)


def _power(eye: Eye, hand: Hand, style: int) -> str:
    sphere = _sphere(eye, hand)
    text = sphere
    if eye.axis is None:
        text += (
            hand.pick("", "", " DS", " sph", " SPH", " sphere", "DS") if sphere[-1].isdigit() else hand.pick("", " DS")
        )
    else:
        text += hand.pick(" ", " ", "/", " / ", ", ", "  ") + hand.signed(eye.cylinder)
        mark = _AXIS_MARKS[style].replace("  ", " ")
        text += mark + _axis(eye.axis, hand, bare=mark.strip() in ("", "/", ","))
    return text.replace(" ", hand.blank) + _after_power(eye, hand)


def _sphere(eye: Eye, hand: Hand) -> str:
    if eye.sphere == 0:
        return hand.pick("plano", "pl", "Plano", "PL", hand.wrote("0.00"), hand.signed(0.0))
    return hand.signed(eye.sphere)


def _axis(axis: float, hand: Hand, *, bare: bool) -> str:
    digits = f"{axis:03.0f}" if bare or hand.random.random() < 0.5 else f"{axis:.0f}"
    return hand.wrote(digits) + hand.pick("", "", "", "°", " °", " deg", "º")


def _after_power(eye: Eye, hand: Hand) -> str:
    text = ""
    if eye.add is not None:
        word = hand.pick("add", "Add", "ADD", "add:", "Add =", "addition", "near add", "reading add")
        text += hand.pick(" ", ", ", " / ", "; ") + word + " " + hand.pick(hand.signed(eye.add), hand.figure(eye.add))
    for number, (amount, base) in enumerate(eye.prism):
        join = hand.pick(" ", ", ", " / ", " and ") if number else hand.pick(" ", " ", ", ", " / ")
        text += join + _prism(amount, base, hand)
    return text


def _prism(amount: float, base: str | float, hand: Hand) -> str:
    figure = hand.figure(amount) if hand.random.random() < 0.6 else hand.wrote(f"{amount:g}")
    if not isinstance(base, str):
        angle = hand.wrote(f"{base:.0f}") + hand.pick("", "°", " °", " degrees")
        return hand.pick(f"prism {figure} base {angle}", f"{figure}Δ base {angle}", f"{figure}Δ @ {angle}")
    short = "B" + {"in": "I", "out": "O", "up": "U", "down": "D"}[base]
    return hand.pick(
        f"prism {figure} base {base}",
        f"prism {figure} {base}",
        f"{figure} {short}",
        f"{figure}{short}",
        f"{figure}Δ {short}",
        f"{figure} Δ base {base}",
        f"{figure}^ {base}",
        f"{figure} base {base}",
        f"{figure} pd base {base}",
        f"prism: {figure} {short.lower()}",
    )


def _named_fields(pair: Pair, hand: Hand) -> str:
    labels = hand.random.choice(_LABELS)
    sphere, cylinder, axis = hand.random.choice(
        (("Sph", "Cyl", "Axis"), ("Sphere", "Cylinder", "Axis"), ("SPH", "CYL", "AX"), ("sph", "cyl", "ax"))
    )
    colon, join = hand.pick(" ", ": ", "="), hand.pick(" ", ", ", "; ")
    eyes = []
    for label, eye in zip(labels, (pair.right, pair.left), strict=True):
        parts = [f"{label}{hand.pick(':', '')} {sphere}{colon}{_sphere(eye, hand)}"]
        if eye.axis is None:
            parts += [f"{cylinder}{colon}{hand.pick('DS', hand.wrote('0.00'))}"] if hand.random.random() < 0.5 else []
        else:
            parts += [
                f"{cylinder}{colon}{hand.signed(eye.cylinder)}",
                f"{axis}{colon}{_axis(eye.axis, hand, bare=False)}",
            ]
        eyes.append(join.join(parts) + _after_power(eye, hand))
    return hand.pick("\n", "  ", "\n\n").join(eyes)


def _table(pair: Pair, hand: Hand) -> str:
    mark = hand.pick("\t", "|", " | ", "\t ")
    columns = ["sph", "cyl", "axis"]
    if pair.right.add is not None:
        columns.append("add")
    hand.random.shuffle(columns)
    names = {"sph": hand.pick("SPH", "Sphere"), "cyl": hand.pick("CYL", "Cylinder"), "axis": "Axis", "add": "Add"}
    rows = [mark.join([hand.pick("Eye", "Rx"), *(names[column] for column in columns)])]
    for label, eye in zip(hand.random.choice(_LABELS), (pair.right, pair.left), strict=True):
        cells = {"sph": _sphere(eye, hand), "cyl": hand.pick("DS", "", "-"), "axis": "", "add": ""}
        if eye.axis is not None:
            cells |= {"cyl": hand.signed(eye.cylinder), "axis": _axis(eye.axis, hand, bare=False)}
        if eye.add is not None:
            cells["add"] = hand.signed(eye.add)
        rows.append(mark.join([label, *(cells[column] for column in columns)]))
    return "\n".join(rows)


def _plain_table(pair: Pair, hand: Hand) -> str:
    if hand.minus == "minus ":
        hand = replace(hand, minus="-")  # nobody writes words into a table
    add = pair.right.add is not None
    rows = ["Sph  Cyl  Axis" + ("  Add" if add else "")]
    for label, eye in zip(hand.random.choice(_LABELS), (pair.right, pair.left), strict=True):
        row = f"{label}  {_sphere(eye, hand)}"
        if eye.axis is not None:
            row += f"  {hand.signed(eye.cylinder)}  {hand.wrote(f'{eye.axis:03.0f}')}"
        if eye.add is not None:
            row += f"  {hand.signed(eye.add)}" if eye.axis is not None else f"  add {hand.signed(eye.add)}"
        rows.append(row)
    return "\n".join(rows)
