"""The deviations of a batch over its sequence, ready to be drawn: one panel a quantity, in parts of the limit."""

from collections.abc import Iterator

from service.drawing.plot import Mark, Panel, plot
from service.drawing.scene import Scene
from service.facts_batch import BatchFacts, BatchQuantity
from service.quantities import quantity
from service.rules.rule import shown

_TITLE = "Deviations of a batch of finished pairs"
_ABOUT = "Measured less ordered; the marks of one pair stand above each other."
_NOTHING = "Nothing was measured that has a limit."


def batch_plot(facts: BatchFacts, count: int) -> Scene:
    """The batch as a page. Quantities without a limit are left out: they have no scale of their own."""
    panels = tuple(_panels(facts))
    if not panels:
        return plot(_TITLE, _NOTHING, (Panel(_NOTHING, "", ()),), count)
    return plot(_TITLE, _ABOUT, panels, count)


def _panels(facts: BatchFacts) -> Iterator[Panel]:
    for one in facts.quantities:
        marks = tuple(_marks(one))
        if marks:
            words = quantity(one.quantity).words
            yield Panel(words[0].upper() + words[1:], _caption(one), marks)


def _marks(one: BatchQuantity) -> Iterator[Mark]:
    for deviation in one.deviations:
        judged = deviation.judged
        if judged.share is not None:
            signed = -judged.share if judged.deviation < 0 else judged.share
            yield Mark(deviation.number + 1, signed, judged.eye, judged.result in ("fail", "warn"))


def _caption(one: BatchQuantity) -> str:
    unit, series = quantity(one.quantity).unit, one.series
    spread = "" if series.spread is None else f", standard deviation {shown(series.spread, unit, 3, signed=False)}"
    return f"{series.count} measured, mean {shown(series.mean, unit, 3)}{spread}, {one.failed} beyond the limit"
