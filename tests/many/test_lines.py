"""Lines are the same however the bytes are cut into parts, and a line of any length is held up to its bound only."""

from hypothesis import given
from hypothesis import strategies as st

from service.many.lines import Lines


def lines_from(parts: list[bytes], most: int) -> list[bytes | None]:
    lines = Lines(most)
    found = [line for part in parts for line in lines.lines_of(part)]
    return [*found, *lines.last()]


@given(st.lists(st.binary(max_size=12).map(lambda part: part.replace(b"x", b"\n")), max_size=12), st.integers(1, 20))
def test_the_cut_of_the_parts_changes_no_line(parts: list[bytes], most: int) -> None:
    text = b"".join(parts)
    expected = text.split(b"\n")
    if not expected[-1]:
        expected.pop()
    assert lines_from(parts, most) == [line if len(line) <= most else None for line in expected]


def test_a_line_at_its_bound_is_taken_and_the_next_byte_is_too_much() -> None:
    assert lines_from([b"x" * 10, b"\n", b"x" * 11, b"\nyes"], 10) == [b"x" * 10, None, b"yes"]


def test_nothing_of_a_line_without_end_is_held() -> None:
    lines = Lines(100)
    for _ in range(1000):
        assert list(lines.lines_of(b"x" * 1000)) == []
    assert sum(len(part) for part in lines._held) <= 100
    assert list(lines.last()) == [None]
