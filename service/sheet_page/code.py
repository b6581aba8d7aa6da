"""The code block (QR, ISO/IEC 18004) that matches a sheet to its order: dark squares as runs, for either writer to draw.

What it holds says nothing of the person: a prefix and the digest of the order. The squares come from a library of its own
for such codes. Error correction M: about 15 % of the block may be smeared and it can still be read.
"""

from dataclasses import dataclass
from typing import Final

QUIET: Final = 4
"""Light squares that must surround a code, on each side (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class Run:
    """Dark squares side by side: how many from the left and from the top of the whole block, and how many."""

    across: int
    down: int
    count: int


@dataclass(frozen=True, slots=True)
class Code:
    """A code block: squares on each side, the quiet zone included, and the dark runs."""

    side: int
    runs: tuple[Run, ...]


def code(text: str) -> Code:
    """The code block of a text."""
    # Asked for here and not at the top: it takes longer to load than the rest of the service's start allows for.
    import segno

    rows = [bytes(row) for row in segno.make_qr(text, error="m", boost_error=False).matrix]
    runs = []
    for down, row in enumerate(rows):
        start = 0
        while (start := row.find(1, start)) >= 0:
            end = row.find(0, start)
            end = len(row) if end < 0 else end
            runs.append(Run(start + QUIET, down + QUIET, end - start))
            start = end
    return Code(len(rows) + 2 * QUIET, tuple(runs))
