"""Log lines: one JSON object a line, to standard output.

The standard library's logging would cost several times as much for each request and needs a global set-up; all that
is wanted is a line.
"""

import sys
from datetime import UTC, datetime

from pydantic_core import to_json


def write_line(*, level: str, event: str, **members: object) -> None:
    """Write one line now. Never hand in what a request held: no body, query, prescription, age or reference."""
    line = {"time": datetime.now(UTC).isoformat(timespec="milliseconds"), "level": level, "event": event, **members}
    sys.stdout.write(to_json(line).decode() + "\n")
    sys.stdout.flush()
