"""A bar that shows how far a run has come, for a person at a terminal."""

import time
from typing import Final, TextIO

_WIDTH: Final = 30
_EVERY_SECONDS: Final = 0.1


class Progress:
    """Draws on one line of a terminal; anywhere else it draws nothing."""

    def __init__(self, total: int, stream: TextIO) -> None:
        self._total, self._stream = max(total, 1), stream
        self._shown = stream.isatty()
        self._started = time.monotonic()
        self._drawn = 0.0
        self._done = 0

    def step(self) -> None:
        """One row more is done."""
        self._done += 1
        now = time.monotonic()
        if self._shown and now - self._drawn >= _EVERY_SECONDS:
            self._drawn = now
            self._draw(now)

    def close(self) -> None:
        """Draw the last state and leave the line."""
        if self._shown:
            self._draw(time.monotonic())
            self._stream.write("\n")
            self._stream.flush()

    def _draw(self, now: float) -> None:
        share = min(self._done / self._total, 1.0)
        bar = "#" * round(_WIDTH * share)
        left = (now - self._started) * (1 - share) / share if share > 0 else 0.0
        self._stream.write(f"\r[{bar:.<{_WIDTH}}] {self._done:,} of {self._total:,} rows, {left:,.0f} s left \x1b[K")
        self._stream.flush()
