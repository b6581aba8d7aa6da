"""Is the prescription in date? Every order here is judged on 2026-11-25."""

import pytest
from desk import GONE, Case, edited, findings, prove

ISSUED, EXPIRES = "/prescription/issued_on", "/prescription/expires_on"
CASES = (
    Case(
        code="prescription-expired",
        severity="review",
        within=({EXPIRES: "2026-11-25"}, {}),
        beyond={EXPIRES: "2026-11-24"},
        pointer=EXPIRES,
        value="2026-11-24",
        limit="2026-11-25",
    ),
    Case(
        code="expiry-before-issue",
        severity="review",
        within=({EXPIRES: "2026-06-01"}, {EXPIRES: "2026-05-31", ISSUED: GONE}),
        beyond={EXPIRES: "2026-05-31"},
        pointer=EXPIRES,
        value="2026-05-31",
        limit="2026-06-01",
    ),
    Case(
        code="prescription-dated-ahead",
        severity="review",
        within=({ISSUED: "2026-11-25"},),
        beyond={ISSUED: "2026-11-26"},
        pointer=ISSUED,
        value="2026-11-26",
        limit="2026-11-25",
    ),
    Case(
        # 2024-11-24 to 2026-11-25 is 731 days: two years, as neither holds a 29 February, and a day.
        code="prescription-old",
        severity="review",
        within=({ISSUED: "2024-11-24"},),
        beyond={ISSUED: "2024-11-23"},
        pointer=ISSUED,
        value=732.0,
        limit=731.0,
        unit="days",
        key="dates.old_after_days",
        moved=700.0,
    ),
    Case(
        code="prescription-ageing",
        severity="note",
        within=({ISSUED: "2025-11-24"}, {ISSUED: "2024-11-23"}),
        beyond={ISSUED: "2025-11-23"},
        pointer=ISSUED,
        value=367.0,
        limit=366.0,
        unit="days",
        key="dates.noted_after_days",
        moved=180.0,
    ),
    Case(code="prescription-undated", severity="note", within=({},), beyond={ISSUED: GONE}, pointer=ISSUED),
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_date_rules_speak_beyond_their_limit_and_only_there(case: Case) -> None:
    prove(case)


def test_up_to_the_graver_limit_the_note_speaks() -> None:
    assert findings(edited({ISSUED: "2024-11-24"}), "prescription-ageing")
