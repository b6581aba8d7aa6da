"""What is done already, kept beside the output until that is written: a run that was cut off goes on where it stopped.

One line of JSON for each row, written out at once: its number, a digest of what stands in it, its outcome. The first line
says by which sheet, rules, profile and day the rows were judged; what was judged by others is done again.
"""

import json
from hashlib import blake2b
from pathlib import Path
from types import TracebackType
from typing import IO, Any, Final

from service.sheets.fault import SheetError
from service.sheets.outcome import Outcome
from service.sheets.table import SheetRow

_DIGEST_BYTES: Final = 16


def digest(*parts: object, key: str = "") -> str:
    """A digest of values, as they are written out; of everything that a row's outcome rests on."""
    return blake2b(
        repr(parts).encode("utf-8", "surrogatepass"), digest_size=_DIGEST_BYTES, key=key.encode()
    ).hexdigest()


class Sidecar:
    """The rows that are done. Use it as a context; `finished` removes the file."""

    def __init__(self, path: Path, run: str) -> None:
        self._path, self._run = path, run
        self._places: dict[int, tuple[str, int]] = {}
        self._lines: IO[bytes] | None = None
        self._about: Any = None

    @property
    def path(self) -> Path:
        """Where the rows are kept."""
        return self._path

    @property
    def kept(self) -> int:
        """Rows that an earlier run has done."""
        return len(self._places)

    def __enter__(self) -> "Sidecar":
        try:
            self._lines = self._path.open("r+b" if self._path.exists() else "w+b")
        except OSError as error:
            raise SheetError(
                f"{self._path}, where rows that are done are kept, cannot be written: {error.strerror}."
            ) from None
        end = self._read()
        self._lines.seek(end)
        self._lines.truncate()
        if end == 0:
            self._write({"run": self._run})
        return self

    def __exit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        if self._lines is not None:
            self._lines.close()

    def row_digest(self, row: SheetRow) -> str:
        """The digest of what stands in a row."""
        return digest(row.number, list(row.values), key=self._run)

    def done(self, row: SheetRow) -> Outcome | None:
        """The outcome of a row that was done as it stands now."""
        found = self._places.get(row.number)
        if found is None or found[0] != self.row_digest(row) or self._lines is None:
            return None
        self._lines.seek(found[1])
        line = json.loads(self._lines.readline())
        return Outcome(line["cells"], line["notes"])

    def keep(self, row: SheetRow, outcome: Outcome) -> None:
        """Write the outcome of a row out; from here on it is not lost."""
        self._write({"row": row.number, "digest": self.row_digest(row), "cells": outcome.cells, "notes": outcome.notes})

    def finished(self) -> None:
        """Remove the file: the output holds it all."""
        if self._lines is not None:
            self._lines.close()
        self._path.unlink(missing_ok=True)

    def _read(self) -> int:
        """Note where each row stands; the end of the last whole line, or 0 where nothing here can be used."""
        end = 0
        for number, line in enumerate(self._lines or ()):
            if not line.endswith(b"\n"):
                break  # cut off while it was written
            try:
                held = json.loads(line)
                if number == 0 and held["run"] != self._run:
                    return 0
                if number > 0:
                    self._places[int(held["row"])] = (str(held["digest"]), end)
            except (ValueError, KeyError, TypeError):
                break
            end += len(line)
        return end

    def _write(self, line: dict[str, Any]) -> None:
        if self._lines is None:
            raise ValueError("rows are kept within the context only")
        self._lines.seek(0, 2)
        self._lines.write(json.dumps(line, ensure_ascii=False).encode() + b"\n")
        self._lines.flush()
