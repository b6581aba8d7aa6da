"""Whatever the figures, their canonical line and other spellings of them read back to the same figures."""

from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st
from written_answers import SEVERITIES, Pair, answer, pair_in, text_findings
from written_spellings import canonical, minus_form, random_pair, spelling

from service.reading.written import read_written

_SEEDS = st.integers(min_value=0, max_value=2**32)
_FEW = settings(max_examples=150, derandomize=True, deadline=None, database=None)
_SPELLINGS_OF_EACH = 20
_PAIRS_AT_RANDOM = 400


def _in_minus_form(pair: Pair) -> Pair:
    return replace(pair, right=minus_form(pair.right), left=minus_form(pair.left))


def _graver_than_notes(text: str) -> list[str]:
    return [remark.code for remark in read_written(text).remarks if SEVERITIES[remark.code] != "note"]


@given(_SEEDS)
@_FEW
def test_the_canonical_line_reads_back_to_the_same_figures(seed: int) -> None:
    pair = random_pair(Random(seed))
    line = canonical(pair)
    found = answer(line)
    assert pair_in(read_written(line)) == _in_minus_form(pair)
    assert not [finding.code for finding in text_findings(found)], line
    assert found.read_as == line


@given(_SEEDS)
@_FEW
def test_twenty_spellings_of_a_pair_read_back_to_the_same_figures(seed: int) -> None:
    random = Random(seed)
    pair = random_pair(random)
    for _ in range(_SPELLINGS_OF_EACH):
        text = spelling(pair, random)
        assert pair_in(read_written(text)) == pair, text
        assert not _graver_than_notes(text), text


@given(_SEEDS)
@_FEW
def test_every_spelling_has_the_same_canonical_line(seed: int) -> None:
    random = Random(seed)
    pair = random_pair(random)
    text = spelling(pair, random)
    found = answer(text)
    assert found.decision != "reject", text
    assert found.read_as == canonical(pair), text


def test_pairs_at_random_read_back_to_the_same_figures() -> None:
    random = Random(20261125)
    for _ in range(_PAIRS_AT_RANDOM):
        pair = random_pair(random)
        text = spelling(pair, random)
        assert pair_in(read_written(text)) == pair, text
        assert pair_in(read_written(canonical(pair))) == _in_minus_form(pair)


@given(_SEEDS)
@_FEW
def test_every_figure_is_pointed_at_where_it_stands(seed: int) -> None:
    random = Random(seed)
    pair = random_pair(random)
    line = canonical(pair)
    spans = {span.pointer: line[span.start : span.end] for span in answer(line).spans}
    for side, eye in (("right", minus_form(pair.right)), ("left", minus_form(pair.left))):
        assert float(spans[f"/prescription/{side}/sphere"]) == eye.sphere
        if eye.axis is not None:
            assert float(spans[f"/prescription/{side}/cylinder"]) == eye.cylinder
            assert float(spans[f"/prescription/{side}/axis"]) == eye.axis
        if eye.add is not None:
            assert f"{eye.add:+.2f}" in spans[f"/prescription/{side}/add"]
