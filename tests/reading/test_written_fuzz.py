"""No text makes the reader fail, and none makes it work longer than its length allows.

BENCHGATE_FUZZ_TEXTS sets how many random texts are tried.
"""

import os
from functools import partial
from pathlib import Path
from random import Random
from time import perf_counter

import pytest
from written_answers import answer
from written_mess import NASTY, lines_run, nasty, random_mess

import service
from service.reading.tokens import tokens
from service.reading.written import read_written

TEXTS = int(os.environ.get("BENCHGATE_FUZZ_TEXTS", "20000"))
_ANSWER_EACH = 20
_LINES_A_TOKEN = 400
_SERVICE = str(Path(service.__file__).parent)
_READING = str(Path(service.__file__).parent / "reading")


def test_no_text_makes_the_reader_fail() -> None:
    random = Random(20261125)
    slowest, slowest_text = 0.0, ""
    failures: dict[str, str] = {}
    for number in range(TEXTS):
        text = random_mess(random)
        began = perf_counter()
        try:
            written = read_written(text)
            if number % _ANSWER_EACH == 0 and not any(0xD800 <= ord(character) < 0xE000 for character in text):
                answer(text)
        except Exception as error:
            failures.setdefault(f"{type(error).__name__}: {str(error).splitlines()[0]}", text)
            continue
        took = perf_counter() - began
        if took > slowest:
            slowest, slowest_text = took, text
        for remark in written.remarks:
            start, end = remark.span
            if not (0 <= start < end <= len(text) and remark.said == text[start:end]):
                failures.setdefault(f"place of {remark.code}: {remark.span}", text)
        for pointer, (start, end) in written.spans.items():
            if not 0 <= start < end <= len(text):
                failures.setdefault(f"place of {pointer}: {(start, end)}", text)
    print(f"\n{TEXTS} texts; slowest {slowest * 1000:.2f} ms: {slowest_text!r}")
    assert not failures, "\n".join(f"{what}: {text!r}" for what, text in failures.items())


@pytest.mark.parametrize(
    "text", ["R -1.00 add -200.00 L -1.00 add 2.00", f"SPH|CYL|AXIS\nR|-1|-1|{'9' * 400}\nL|-1|-1|10"]
)
def test_figures_beyond_all_bounds_are_refused_and_not_failed_on(text: str) -> None:
    assert answer(text).decision == "reject"


@pytest.mark.parametrize("piece", NASTY, ids=ascii)
def test_the_work_grows_with_the_length_and_no_faster(piece: str) -> None:
    half, whole = nasty(piece, 500), nasty(piece, 1000)
    work = [lines_run(partial(read_written, text), _READING) for text in (half, whole)]
    assert work[1] <= 2.4 * work[0] + 500, work
    assert work[1] <= _LINES_A_TOKEN * (len(tokens(whole)) + 5), (work, len(tokens(whole)))


@pytest.mark.parametrize("piece", ["#", "R -1 ", "add 2 ", "2 in ", "|\n"], ids=ascii)
def test_the_whole_answer_takes_work_in_step_with_the_length(piece: str) -> None:
    work = [lines_run(partial(answer, nasty(piece, length)), _SERVICE) for length in (500, 1000)]
    assert work[1] <= 2.4 * work[0] + 20_000, work


def test_the_slowest_of_the_long_texts_is_told() -> None:
    times = []
    for piece in NASTY:
        text = nasty(piece)
        began = perf_counter()
        found = answer(text)
        times.append((perf_counter() - began, len(found.findings), piece))
    print()
    for took, findings, piece in sorted(times, reverse=True)[:8]:
        print(f"{took * 1000:8.1f} ms  {findings:5} findings  {piece!r} over and over")
    assert len(times) == len(NASTY)
