"""Requests that are well formed and still cannot be worked with."""

import pytest
from desk import ORDINARY, Case, edited, findings, prove

CASES = (
    Case(
        code="profile-contradicts-itself",
        severity="reject",
        within=({"/profile/frame/a_least_mm": 62},),
        beyond={"/profile/frame/a_least_mm": 62.5},
        pointer="/profile",
    ),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_request_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_a_contradiction_names_the_keys_and_both_values() -> None:
    (finding,) = findings(edited({"/profile/frame/a_least_mm": 62.5}))
    assert "frame.a_least_mm (62.5) is larger than frame.a_most_mm (62)" in finding.message


def test_the_ordinary_order_is_remarked_on_by_no_rule() -> None:
    assert findings(ORDINARY) == []
