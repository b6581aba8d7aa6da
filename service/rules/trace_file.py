"""What was refused, taken or set aside in a trace file: a rule for each kind of remark of the reading.

The gravity and the words for the shop stand beside the reading (`service.reading.trace_remarks`).
"""

from typing import Final

from service.reading.trace_remarks import REMARKS, TraceRemark
from service.rules.rule import Noticed, Rule, remark_rule

_CUSTOMER: Final = "We have to measure the shape of this frame again."


def _noticed(remark: TraceRemark) -> Noticed:
    return Noticed(
        "/text",
        value=None if remark.line is None else float(remark.line),
        unit=None if remark.line is None else "line",
        words=remark.words,
    )


def _about(code: str) -> str:
    return f"A trace file: {code.removeprefix('trace-file-').replace('-', ' ')}."


TRACE_FILE_RULES: tuple[Rule, ...] = tuple(
    remark_rule(code, severity, "house", _about(code), shop, _CUSTOMER, scope="trace-file", noticed=_noticed)
    for code, (severity, shop) in REMARKS.items()
)
