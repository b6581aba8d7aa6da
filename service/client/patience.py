"""How often and after which pause a request is sent again.

Full jitter: a pause is drawn between nothing and a bound that doubles, so that callers turned away together do not come
back together (common practice). Nothing waits longer than the cap, whatever the service asks for.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from random import random


@dataclass(frozen=True)
class Patience:
    """At most so many more tries; the pause before the first is drawn up to `first_s`, and none is longer than `cap_s`."""

    retries: int = 3
    first_s: float = 0.5
    cap_s: float = 10.0
    lot: Callable[[], float] = random  # from 0 to 1; another one makes a test exact

    def pause_s(self, tried: int, asked_s: float | None) -> float:
        """Seconds to wait after so many tries, at least what the service asked for, as far as the cap allows."""
        drawn = self.lot() * min(self.cap_s, self.first_s * 2.0 ** min(tried - 1, 30))
        return min(self.cap_s, (asked_s or 0.0) + drawn)


def asked_s(retry_after: str | None, now: datetime | None = None) -> float | None:
    """What the header Retry-After asks for (RFC 9110, 10.2.3), in seconds: it holds seconds or a date. None without sense."""
    text = (retry_after or "").strip()
    if text.isascii() and text.isdigit():
        return float(text[:9])
    try:
        when = parsedate_to_datetime(text)
    except ValueError:
        return None
    if when.tzinfo is None:
        when = when.replace(tzinfo=UTC)
    return max(0.0, (when - (now or datetime.now(UTC))).total_seconds())
