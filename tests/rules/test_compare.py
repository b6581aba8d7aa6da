"""Rules on a comparison itself: silent at their limit, speaking beyond it. The endpoint is in tests/contract."""

import pytest
from desk import SHOP
from test_every_rule import JARGON

from service.contract.answer import Finding, Remedy
from service.rules.compare import CompareFacts
from service.rules.registry import compare_findings


def found(*, wanted: int = 15, unknown: tuple[tuple[int, str], ...] = ()) -> list[Finding]:
    facts = CompareFacts(unknown, ("polycarbonate", "crown-glass"), rows_wanted=wanted, rows_most=200)
    return compare_findings(facts, SHOP)


def test_a_comparison_within_its_bounds_is_not_remarked_on() -> None:
    assert found() == found(wanted=200) == found(wanted=0) == []


def test_rows_beyond_the_bound_are_told_with_both_numbers() -> None:
    (finding,) = found(wanted=201)
    assert (finding.code, finding.severity) == ("compare-rows-left-out", "review")
    assert (finding.pointer, finding.value, finding.limit) == ("/materials", 201.0, 200.0)
    assert "201" in finding.message
    assert "200" in finding.message


def test_each_material_that_is_not_known_is_told_at_its_place_with_those_that_are() -> None:
    one, two = found(unknown=((1, "unobtainium"), (4, "glas")))
    assert (one.code, one.severity) == ("compare-material-not-known", "review")
    assert [(one.pointer, one.value), (two.pointer, two.value)] == [
        ("/materials/1", "unobtainium"),
        ("/materials/4", "glas"),
    ]
    assert one.remedies == [Remedy("/materials/1", one_of=["polycarbonate", "crown-glass"])]
    assert "unobtainium" in one.message


@pytest.mark.parametrize("finding", found(wanted=201, unknown=((0, "glas"),)), ids=lambda one: one.code)
def test_the_texts_for_the_wearer_are_filled_in_and_plain(finding: Finding) -> None:
    for text in (finding.message, finding.customer_message):
        assert not set("{}") & set(text)
        assert "None" not in text
    assert not [word for word in JARGON if word.lower() in finding.customer_message.lower()]
