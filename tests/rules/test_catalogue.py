"""Rules on the catalogue of a screening: each speaks of its own fault, and all are silent where there is none."""

import pytest
from desk import SHOP

from service.rules.catalogue import ScreenFacts
from service.rules.registry import RULES, screen_findings

FAULTS = {
    "catalogue-missing": (ScreenFacts("missing"), "/frames"),
    "catalogue-given-twice": (ScreenFacts("twice"), "/frames_csv"),
    "catalogue-not-readable": (ScreenFacts("unreadable", ("Row 2: a fault.", "Row 5: another.")), "/frames_csv"),
    "catalogue-too-long": (ScreenFacts("too-long", (), 5_001, 5_000), "/frames"),
}


def test_every_rule_on_catalogues_is_shown() -> None:
    assert {one.code for one in RULES if one.scope == "screen"} == set(FAULTS)


def test_a_sound_catalogue_is_not_spoken_of() -> None:
    assert screen_findings(ScreenFacts(None), SHOP) == []


@pytest.mark.parametrize("code", FAULTS)
def test_each_fault_is_told_by_its_own_rule(code: str) -> None:
    facts, pointer = FAULTS[code]
    found = screen_findings(facts, SHOP)
    assert {(one.code, one.severity, one.pointer) for one in found} == {(code, "reject", pointer)}
    assert not [one for one in found if set("{}") & set(one.message + one.customer_message)]


def test_every_row_that_cannot_be_read_is_told() -> None:
    facts, _ = FAULTS["catalogue-not-readable"]
    assert [one.message[:6] for one in screen_findings(facts, SHOP)] == ["Row 2:", "Row 5:"]


def test_the_figures_of_a_catalogue_that_is_too_long_are_told() -> None:
    (one,) = screen_findings(FAULTS["catalogue-too-long"][0], SHOP)
    assert (one.value, one.limit) == (5_001.0, 5_000.0)
    assert "5001 frames" in one.message
    assert "5000" in one.message
