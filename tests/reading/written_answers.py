"""What the service answers to a text, in the few words the tests of written prescriptions compare."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from service.checking import read
from service.contract.answer import Finding, ReadAnswer
from service.contract.order import PrescribedEye, ReadRequest
from service.profile.loader import load
from service.reading.text_reading import PdText
from service.reading.written import Written, read_written
from service.rules.text import TEXT_RULES

SHOP: Final = load(None)
DAY: Final = date(2026, 11, 25)
SEVERITIES: Final = {rule.code: rule.severity for rule in TEXT_RULES}

Prisms = tuple[tuple[float, str | float], ...]


@dataclass(frozen=True, slots=True)
class Eye:
    """One eye; no cylinder and a cylinder of nothing are the same lens."""

    sphere: float
    cylinder: float = 0.0
    axis: float | None = None
    add: float | None = None
    prism: Prisms = ()


@dataclass(frozen=True, slots=True)
class Pair:
    """Both eyes, and what else a text may hold, by name."""

    right: Eye
    left: Eye
    more: tuple[tuple[str, float], ...] = ()


def answer(text: str) -> ReadAnswer:
    """The whole answer of the service."""
    return read(ReadRequest.model_validate({"prescription": {"written": text}, "as_of": "2026-11-25"}), SHOP, DAY)


def pair_in(written: Written) -> Pair | None:
    """The figures that were read, or None where an eye has none."""
    found = written.prescription
    if found is None:
        return None
    more = dict(_distances(written.pd))
    if found.vertex_distance_mm is not None:
        more["vertex"] = found.vertex_distance_mm
    return Pair(_eye(found.right), _eye(found.left), tuple(sorted(more.items())))


def accepted(text: str) -> Pair | None:
    """The figures of a text that the service accepts; None where it refuses or asks. No exception is let pass."""
    written = read_written(text)
    if written.prescription is None or any(SEVERITIES[remark.code] != "note" for remark in written.remarks):
        return None  # spares the rules on the figures: the decision is already not to accept
    return pair_in(written) if answer(text).decision == "accept" else None


def text_findings(found: ReadAnswer) -> list[Finding]:
    """The findings on the text itself."""
    return [finding for finding in found.findings if finding.code in SEVERITIES]


def _eye(eye: PrescribedEye) -> Eye:
    prism = tuple((part.amount, part.base) for part in eye.prism)
    if not eye.cylinder:
        # An axis that stands alone is kept: it was read.
        return Eye(eye.sphere, 0.0, eye.axis if eye.cylinder is None else None, eye.add, prism)
    return Eye(eye.sphere, eye.cylinder, eye.axis, eye.add, prism)


def _distances(pd: PdText | None) -> list[tuple[str, float]]:
    if pd is None:
        return []
    found = (("both", pd.both), ("left", pd.left), ("near", pd.near), ("right", pd.right))
    return [(f"pd {name}", value) for name, value in found if value is not None]
