"""Some hundreds of written prescriptions, and what a careful optician says they mean.

The expectations were written from the texts, not from what the reader answers: see `corpus.toml`.
"""

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from written_answers import Eye, Pair, answer, pair_in, text_findings

from service.reading.written import read_written

_CORPUS: dict[str, list[dict[str, Any]]] = tomllib.loads(
    (Path(__file__).parent / "corpus.toml").read_text(encoding="utf-8")
)
_ROWS = [
    pytest.param(row, id=f"{name}-{number}-{ascii(row['text'])[1:50]}")
    for name, rows in _CORPUS.items()
    for number, row in enumerate(rows, 1)
]


def _eye(row: dict[str, Any], side: str, place: int) -> Eye:
    figures = [None if figure == "none" else float(figure) for figure in row[side]]
    sphere, cylinder, axis = figures + [None] * (3 - len(figures))
    assert sphere is not None
    add = row.get("add", ["none", "none"])[place]
    parts = row.get(f"prism_{side}", [])
    prism = tuple((float(amount), base if isinstance(base, str) else float(base)) for amount, base in parts)
    return Eye(sphere, cylinder or 0.0, axis, None if add == "none" else float(add), prism)


def _expected(row: dict[str, Any]) -> Pair:
    more = {f"pd {name}": float(value) for name, value in row.get("pd", {}).items()}
    if "vertex" in row:
        more["vertex"] = float(row["vertex"])
    return Pair(_eye(row, "right", 0), _eye(row, "left", 1), tuple(sorted(more.items())))


@pytest.mark.parametrize("row", _ROWS)
def test_a_text_is_read_as_a_careful_optician_reads_it(row: dict[str, Any]) -> None:
    text = row["text"]
    found = answer(text)
    codes = {finding.code for finding in text_findings(found)}
    if row["decision"] == "ask":
        assert found.decision in ("review", "reject")
        return
    if row["decision"] != "any":
        assert found.decision == row["decision"], sorted(finding.code for finding in found.findings)
    if row["decision"] == "reject":
        missing = set(row.get("codes", [])) - {finding.code for finding in found.findings}
        assert not missing, sorted(finding.code for finding in found.findings)
    elif "right" in row:
        assert pair_in(read_written(text)) == _expected(row)
        if row["decision"] != "any":
            assert codes == set(row.get("codes", []))


@pytest.mark.parametrize("row", _ROWS)
def test_every_finding_on_a_text_quotes_a_place_in_it(row: dict[str, Any]) -> None:
    text = row["text"]
    found = answer(text)
    for finding in text_findings(found):
        assert finding.span is not None
        start, end = finding.span
        assert 0 <= start < end <= len(text), (finding.code, finding.span)
    for span in found.spans:
        assert 0 <= span.start < span.end <= len(text), span.pointer
    for code, quoted in row.get("quotes", {}).items():
        places = {text[slice(*finding.span)] for finding in found.findings if finding.code == code and finding.span}
        assert quoted in places, (code, sorted(places))


def test_the_corpus_holds_enough_texts_of_every_class() -> None:
    counts = {name: len(rows) for name, rows in _CORPUS.items()}
    assert sum(counts.values()) >= 320
    assert min(counts.values()) >= 8, counts
    assert sum("quotes" in row for rows in _CORPUS.values() for row in rows) >= 60
    repeated = Counter(row["text"] for rows in _CORPUS.values() for row in rows).most_common(1)
    assert repeated[0][1] == 1, repeated
