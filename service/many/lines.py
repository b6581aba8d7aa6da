"""Lines out of bytes that come in parts of any size, each line bounded, whatever is sent."""

from collections.abc import Iterator


class Lines:
    """Parts in, lines out, without their ends. A line longer than the bound comes as None; nothing of it is kept."""

    def __init__(self, most_bytes: int) -> None:
        self._most = most_bytes
        self._held: list[bytes] = []
        self._size = 0
        self._too_long = False

    def lines_of(self, part: bytes) -> Iterator[bytes | None]:
        """The lines that this part brings to their end."""
        *ended, rest = part.split(b"\n")
        for piece in ended:
            self._hold(piece)
            yield self._line()
        self._hold(rest)

    def last(self) -> Iterator[bytes | None]:
        """What stands after the last line break, if there is anything."""
        if self._size or self._too_long:
            yield self._line()

    def _hold(self, piece: bytes) -> None:
        self._size += len(piece)
        if self._size > self._most:
            self._held.clear()
            self._too_long = True
        elif piece:
            self._held.append(piece)

    def _line(self) -> bytes | None:
        line = None if self._too_long else b"".join(self._held)
        self._held.clear()
        self._size, self._too_long = 0, False
        return line
