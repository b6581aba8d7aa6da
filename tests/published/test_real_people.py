"""Prescriptions and pupils of real people, from open data: a check that troubles many of them is a bad check.

Prescriptions: lensmeter readings of NHANES 1999-2000 and 2003-2004 (CDC/NCHS), the clean part: every power a multiple
of 0.25 D, and the lens within 2 D of the eye's own autorefraction. PDs: ANSUR II 2012 (US Army), and the data set Eyes
of the R package resampledata3 1.0 for the PD of each eye. The frame is an ordinary one of common practice.
"""

import csv
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest

from service.checking import check
from service.contract.answer import CheckAnswer
from service.contract.order import Order
from service.profile.loader import Limits, load

AS_OF = date(2026, 11, 25)
MOST_TO_REVIEW = 0.12
FRAME = {"a_mm": 52, "b_mm": 38, "dbl_mm": 18, "ed_mm": 55}
LENS = {"material": "hard-resin-1.50", "use": "distance", "blank_diameter_mm": 80}
AMPLE_BLANK_IN_STOCK = {"stock": [{"material": "hard-resin-1.50", "diameters_mm": [80.0]}]}
GRAVITY = {"reject": 0, "review": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class Eye:
    """One lens as the lensmeter read it: plus cylinder, axis 0 to 180."""

    sphere: float
    cylinder: float
    axis: float

    def as_recorded(self) -> dict[str, float]:
        return {"sphere": self.sphere, "cylinder": self.cylinder, "axis": self.axis}

    def transposed(self) -> dict[str, float]:
        axis = self.axis + 90 if self.axis <= 90 else self.axis - 90
        return {"sphere": self.sphere + self.cylinder, "cylinder": -self.cylinder, "axis": axis}


@dataclass(frozen=True, slots=True)
class Person:
    """A pair of lenses, and the PD of another adult put beside it."""

    age_years: float
    right: Eye
    left: Eye
    pd_mm: float


@dataclass(slots=True)
class Tally:
    """How many people each rule hit, and how the orders ended."""

    people: int
    decisions: Counter[str]
    hits: Counter[tuple[str, str]]

    def share(self, decision: str) -> float:
        return self.decisions[decision] / self.people

    def table(self, title: str) -> str:
        ended = ", ".join(f"{name} {self.share(name):.2%}" for name in ("accept", "review", "reject"))
        rows = sorted(self.hits.items(), key=lambda row: (GRAVITY[row[0][0]], -row[1], row[0]))
        lines = (f"  {severity:7} {code:36} {hit:5}  {hit / self.people:7.2%}" for (severity, code), hit in rows)
        return "\n".join((f"{title}: {self.people} people: {ended}", *lines))


@pytest.fixture(scope="module")
def limits() -> Limits:
    return load(None)


@pytest.fixture(scope="module")
def people(shared_data: Path) -> list[Person]:
    pds = cycle(float(row["pd_mm"]) for row in rows(shared_data / "ansur2_pd_part.csv"))
    found = []
    for row in rows(shared_data / "nhanes_lensometry_part.csv"):
        distance = row["max_se_diff_vs_autoref"]
        if row["quarter_step"] != "1" or not distance or float(distance) > 2:
            continue
        right, left = eye(row, "r"), eye(row, "l")
        if right is not None and left is not None:
            found.append(Person(float(row["age_years"]), right, left, next(pds)))
    assert len(found) > 3_000
    return found


def rows(path: Path) -> Iterator[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(file)


def eye(row: dict[str, str], letter: str) -> Eye | None:
    figures = [row[f"{letter}_{name}"] for name in ("sph", "cyl", "axis")]
    return Eye(*map(float, figures)) if all(figures) else None


def order(right: dict[str, float], left: dict[str, float], pd_mm: dict[str, float], age: float | None) -> Order:
    given: dict[str, Any] = {
        "prescription": {"right": right, "left": left, "issued_on": "2026-03-25"},
        "pd_mm": pd_mm,
        "frame": FRAME,
        "lens": LENS,
        "as_of": AS_OF.isoformat(),
        "profile": AMPLE_BLANK_IN_STOCK,
    }
    if age is not None:
        given["wearer"] = {"age_years": age}
    return Order.model_validate(given)


def orders(people: Iterable[Person], *, transposed: bool, ages: bool) -> Iterator[Order]:
    for person in people:
        right, left = person.right, person.left
        yield order(
            right.transposed() if transposed else right.as_recorded(),
            left.transposed() if transposed else left.as_recorded(),
            {"both": person.pd_mm},
            person.age_years if ages else None,
        )


def tally(answers: Iterable[CheckAnswer]) -> Tally:
    counted = Tally(0, Counter(), Counter())
    for answer in answers:
        counted.people += 1
        counted.decisions[answer.decision] += 1
        counted.hits.update({(finding.severity, finding.code) for finding in answer.findings})
    return counted


def show(capsys: pytest.CaptureFixture[str], text: str) -> None:
    with capsys.disabled():
        print(f"\n{text}")


@pytest.mark.parametrize("ages", [True, False], ids=["ages given", "no ages given"])
@pytest.mark.parametrize("transposed", [False, True], ids=["as recorded", "transposed"])
def test_no_real_pair_is_rejected_and_few_go_to_a_person(
    people: list[Person], limits: Limits, capsys: pytest.CaptureFixture[str], transposed: bool, ages: bool
) -> None:
    found = tally(check(one, limits, AS_OF) for one in orders(people, transposed=transposed, ages=ages))
    form, age = "transposed" if transposed else "as recorded", "ages given" if ages else "no ages given"
    show(capsys, found.table(f"Real pairs {form}, {age}"))
    assert found.decisions["reject"] == 0
    assert found.share("review") <= MOST_TO_REVIEW


def test_the_halves_of_real_pupil_distances_are_not_rejected(
    shared_data: Path, limits: Limits, capsys: pytest.CaptureFixture[str]
) -> None:
    lens = {"sphere": -1.5, "cylinder": -0.5, "axis": 20.0}
    measured = list(rows(shared_data / "monocular_pd_eyes40.csv"))
    assert len(measured) == 40
    found = tally(
        check(
            order(
                lens,
                lens,
                {"right": float(row["right_pd_mm"]), "left": float(row["left_pd_mm"])},
                float(row["age_years"]),
            ),
            limits,
            AS_OF,
        )
        for row in measured
    )
    show(capsys, found.table("Halves of the PD, one lens for all"))
    assert found.decisions["reject"] == 0
    assert found.share("review") <= MOST_TO_REVIEW


@pytest.mark.parametrize("transposed", [False, True], ids=["as recorded", "transposed"])
def test_spherical_equivalents_of_real_pairs_are_sphere_plus_half_the_cylinder(
    people: list[Person], limits: Limits, transposed: bool
) -> None:
    for person, one in zip(people, orders(people, transposed=transposed, ages=False), strict=True):
        reading = check(one, limits, AS_OF).prescription
        assert reading is not None
        for read, recorded in ((reading.right, person.right), (reading.left, person.left)):
            # Powers on a quarter make equivalents on an eighth, which four decimals hold exactly.
            assert read.spherical_equivalent == recorded.sphere + recorded.cylinder / 2


def test_real_pairs_transposed_end_as_they_do_recorded(people: list[Person], limits: Limits) -> None:
    recorded = orders(people, transposed=False, ages=True)
    turned = orders(people, transposed=True, ages=True)
    for first, second in zip(recorded, turned, strict=True):
        one, other = check(first, limits, AS_OF), check(second, limits, AS_OF)
        assert (one.decision, one.fit, one.prism) == (other.decision, other.fit, other.prism)
