"""One value for one cell of a spreadsheet: from the words in its address to a figure, or to why there is none.

A cell shows no findings, so it must not show a figure that rests on something misread: with a finding that rejects one of
its words there is none, nor with an axis whose cylinder is lost. Everything else that a person should look at is told by
the words that stand beside it.
"""

import copy
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from service.cell_figures import FIGURE_OF, FIGURES, Figure, Got, NoFigureError
from service.cell_parameters import Fault, Values, document_of, missing, values_of
from service.checking import Checked, checked_order
from service.contract.answer import Decision, Finding
from service.contract.order import Order
from service.profile.loader import Limits
from service.values import EyeName

__all__ = ["FIGURES", "FIGURE_OF", "Cell", "Fault", "cell", "order_of"]

# An ordinary pair, for whatever a figure does not depend on.
_ORDINARY: Final[dict[str, Any]] = {
    "prescription": {"right": {"sphere": 0.0}, "left": {"sphere": 0.0}},
    "pd_mm": {"right": 31.5, "left": 31.5},
    "frame": {"a_mm": 50.0, "b_mm": 40.0, "dbl_mm": 18.0},
}
# Reviews under which a figure means nothing: the power that it is asked of may not be the one that was meant.
_GRAVE_HERE: Final = frozenset({"axis-without-cylinder"})


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell shows: `value`, or nothing where there are `faults`. `readable` says that the words made an order."""

    value: str | None
    words: str
    faults: tuple[Fault, ...]
    readable: bool
    depends_on_day: bool
    decision: Decision | None = None
    findings: tuple[Finding, ...] = ()


def cell(figure: Figure, pairs: list[tuple[str, str]], limits: Limits, today: date) -> Cell:
    """The cell of a figure. `pairs` are the names and values of its address."""
    values, faults = values_of(figure.parameters, pairs)
    faults += _not_given(figure, values, faults)
    depends_on_day = figure.of_pair and "as_of" not in values
    if faults:
        return _without_value(faults, readable=False, depends_on_day=depends_on_day)
    checked = checked_order(order_of(figure, values), limits, today)
    if not figure.of_pair:
        faults = _in_the_way(figure, checked, values)
        if not faults:
            try:
                got = figure.work(checked, values, _eye(values))
            except NoFigureError as error:
                faults = [error.fault]
        if faults:
            return _without_value(faults, readable=True, depends_on_day=False)
        return Cell(_text(got.value), _told(figure, got, checked, values), (), True, False)
    got = figure.work(checked, values, "right")
    answer = checked.answer
    words = " ".join([f"{got.value}: {got.meaning}.", *(one.message for one in _to_look_at(answer.findings))])
    return Cell(_text(got.value), words, (), True, depends_on_day, answer.decision, tuple(answer.findings))


def order_of(figure: Figure, values: Values) -> Order:
    """The order that the words stand for."""
    around: dict[str, Any] = {"prescription": {"right": {}, "left": {}}, "pd_mm": {}, "frame": {}}
    start = around if figure.of_pair else copy.deepcopy(_ORDINARY)
    return Order.model_validate(document_of(figure.parameters, values, start))


def _eye(values: Values) -> EyeName:
    return "left" if values.get("eye") == "left" else "right"


def _not_given(figure: Figure, values: Values, faults: list[Fault]) -> list[Fault]:
    """What a word that was given cannot do without."""
    faulty = {fault.parameter for fault in faults}
    wanted = [
        other
        for name, chosen, others in figure.asks
        if name in values and chosen in (None, values[name])
        for other in others
        if other not in values and other not in faulty
    ]
    return [missing(figure.parameter(name)) for name in dict.fromkeys(wanted)]


def _in_the_way(figure: Figure, checked: Checked, values: Values) -> list[Fault]:
    grave = [
        one
        for one in _touching(figure, checked, values)
        if (one.severity == "reject" or one.code in _GRAVE_HERE) and one.code not in figure.is_about
    ]
    return [Fault(_word_of(figure, one), one.code, _addressed(one.message, values)) for one in grave]


def _touching(figure: Figure, checked: Checked, values: Values) -> list[Finding]:
    """The findings on what the words of the figure fill, for its eye."""
    eye = _eye(values)
    filled = [pointer for one in figure.parameters for pointer in one.fills]
    return [
        one
        for one in checked.answer.findings
        if one.eye in (None, eye) and any(_related(one.pointer, pointer) for pointer in filled)
    ]


def _related(one: str, other: str) -> bool:
    return one == other or one.startswith(f"{other}/") or other.startswith(f"{one}/")


def _word_of(figure: Figure, finding: Finding) -> str | None:
    """The word that a finding speaks of."""
    return next(
        (one.name for one in figure.parameters if any(_related(finding.pointer, pointer) for pointer in one.fills)),
        None,
    )


def _addressed(message: str, values: Values) -> str:
    """A message that does not name an eye where none was named in the address."""
    return message if "eye" in values else message.replace("the right eye", "this eye")


def _told(figure: Figure, got: Got, checked: Checked, values: Values) -> str:
    unit = "" if not got.unit else got.unit if got.unit == "°" else f" {got.unit}"
    told = [f"{_text(got.value)}{unit}: {got.meaning}."]
    told += dict.fromkeys(one.reason for one in checked.answer.assumptions if one.pointer in got.rests_on)
    touching = _to_look_at(_touching(figure, checked, values))
    told += [_addressed(one.message, values) for one in touching]
    return " ".join(told)


def _to_look_at(findings: list[Finding]) -> list[Finding]:
    return [one for one in findings if one.severity != "note"]


def _without_value(faults: list[Fault], *, readable: bool, depends_on_day: bool) -> Cell:
    words = " ".join(["There is no value.", *(fault.message for fault in faults)])
    return Cell(None, words, tuple(faults), readable, depends_on_day)


def _text(value: float | str) -> str:
    """A figure with a decimal point, without noughts at its end and without a unit."""
    if isinstance(value, str):
        return value
    text = f"{value + 0.0:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
