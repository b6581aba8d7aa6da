"""What was read from a text: figures with their places, and remarks on what was inferred, set aside or not understood."""

from dataclasses import dataclass, field
from typing import Literal

EyeName = Literal["right", "left"]
Side = Literal["right", "left", "both"]
Base = Literal["in", "out", "up", "down"]
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing to say about a place in the text; `code` is that of a rule. `said` is the place, quoted."""

    code: str
    span: Span
    said: str
    eye: EyeName | None = None
    value: float | None = None
    taken: str = ""


@dataclass(slots=True)
class EyeText:
    """One eye while it is being read. Members that were not written stay None."""

    eye: EyeName
    span: Span
    sphere: float | None = None
    cylinder: float | None = None
    axis: float | None = None
    add: float | None = None
    is_balance: bool = False
    prism: list[tuple[float, Base | float]] = field(default_factory=list)
    spans: dict[str, Span] = field(default_factory=dict)


@dataclass(slots=True)
class PdText:
    """Pupillary distances as written. [mm]"""

    right: float | None = None
    left: float | None = None
    both: float | None = None
    near: float | None = None
    span: Span = (0, 0)


@dataclass(slots=True)
class Reading:
    """Everything that was read from one text."""

    right: EyeText | None = None
    left: EyeText | None = None
    pd: PdText = field(default_factory=PdText)
    has_labels: bool = False
    vertex_mm: float | None = None
    vertex_span: Span = (0, 0)
    remarks: list[Remark] = field(default_factory=list)
