"""A FHIR document that is written reads back to the same, says no more than is known, and is valid elsewhere."""

import json
import math
import os
from datetime import date
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from fhir_documents import (
    GONE,
    LEFT,
    RIGHT,
    codes,
    edited,
    example,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from service import limits
from service.contract.order import PrescribedEye, PrescribedPrism, StructuredPrescription
from service.reading.fhir_read import read_fhir
from service.reading.fhir_write import NotWritableError, fhir_document, not_carried, not_writable
from service.web import strict_json

TODAY = date(2026, 11, 25)

powers = st.one_of(
    st.integers(-160, 160).map(lambda steps: steps / 8),
    st.floats(-1000, 1000, allow_nan=False, allow_infinity=False),
)
prisms = st.lists(
    st.builds(
        PrescribedPrism,
        amount=st.floats(0, 25),
        base=st.one_of(st.sampled_from(["in", "out", "up", "down"]), st.floats(0, 360)),
    ),
    max_size=limits.MAX_PRISMS_PER_EYE,
)
eyes = st.builds(
    PrescribedEye,
    sphere=powers,
    cylinder=st.none() | powers,
    axis=st.none() | st.integers(0, 180).map(float),
    add=st.none() | st.integers(-800, 800).map(lambda steps: steps / 8),
    prism=prisms,
)
prescriptions = st.builds(
    lambda right, left, day: StructuredPrescription(right=right, left=left).model_copy(update={"issued_on": day}),
    eyes,
    eyes,
    st.none() | st.dates(min_value=date(1900, 1, 1)),
)


def base_vector(eye: str, given: PrescribedEye) -> tuple[float, float]:
    """Prism of an eye, in and up, by plain trigonometry: a second route."""
    inwards = upwards = 0.0
    for part in given.prism:
        if isinstance(part.base, str):
            inwards += part.amount * {"in": 1, "out": -1}.get(part.base, 0)
            upwards += part.amount * {"up": 1, "down": -1}.get(part.base, 0)
        else:
            nasal = 1 if eye == "right" else -1
            inwards += nasal * part.amount * math.cos(math.radians(part.base))
            upwards += part.amount * math.sin(math.radians(part.base))
    return inwards, upwards


def through_json(document: dict[str, Any]) -> Any:
    return strict_json.parse(json.dumps(document).encode())


@given(prescriptions)
def test_what_is_written_reads_back_to_the_same_prescription(prescription: StructuredPrescription) -> None:
    reading = read_fhir(through_json(fhir_document(prescription, as_of=TODAY)))
    expected = ["fhir-status-draft"] + ["fhir-date-missing"] * (prescription.issued_on is None)
    assert codes(reading) == expected
    back = reading.prescription
    assert back is not None
    assert back.issued_on == prescription.issued_on
    for eye, given_eye, read_eye in (("right", prescription.right, back.right), ("left", prescription.left, back.left)):
        assert read_eye.model_copy(update={"prism": []}) == given_eye.model_copy(update={"prism": []})
        # Written to six decimals: each component is off by half of the last at most.
        assert base_vector(eye, read_eye) == pytest.approx(base_vector(eye, given_eye), abs=5.1e-7)
        horizontal = [part for part in read_eye.prism if part.base in ("in", "out")]
        vertical = [part for part in read_eye.prism if part.base in ("up", "down")]
        assert len(horizontal) <= 1
        assert len(vertical) <= 1
        assert len(horizontal) + len(vertical) == len(read_eye.prism)
        assert all(part.amount > 0 for part in read_eye.prism)


def plain(**members: Any) -> StructuredPrescription:
    return StructuredPrescription(right=PrescribedEye(sphere=-2.0, **members), left=PrescribedEye(sphere=-1.0))


def test_components_in_words_are_written_unaltered() -> None:
    prism = [PrescribedPrism(amount=0.75, base="in"), PrescribedPrism(amount=1.5, base="down")]
    right = fhir_document(plain(prism=prism), as_of=TODAY)["lensSpecification"][0]
    assert right["prism"] == [{"amount": 0.75, "base": "in"}, {"amount": 1.5, "base": "down"}]


def test_opposite_bases_and_no_prism_leave_no_component() -> None:
    prism = [PrescribedPrism(amount=2, base="in"), PrescribedPrism(amount=2, base="out")]
    for given_prism in (prism, [PrescribedPrism(amount=0, base="up")], []):
        assert "prism" not in fhir_document(plain(prism=given_prism), as_of=TODAY)["lensSpecification"][0]


def test_in_is_at_0_degrees_for_the_right_eye_and_at_180_for_the_left() -> None:
    at_zero = PrescribedEye(sphere=0, prism=[PrescribedPrism(amount=1, base=0)])
    document = fhir_document(StructuredPrescription(right=at_zero, left=at_zero), as_of=TODAY)
    assert [one["prism"] for one in document["lensSpecification"]] == [
        [{"amount": 1.0, "base": "in"}],
        [{"amount": 1.0, "base": "out"}],
    ]


def test_nothing_is_claimed_that_the_order_does_not_say() -> None:
    document = fhir_document(plain(), as_of=TODAY)
    assert document["status"] == "draft"
    assert document["created"] == "2026-11-25"
    assert "dateWritten" not in document
    assert document["_dateWritten"]["extension"][0]["valueCode"] == "unknown"
    for person in ("patient", "prescriber"):
        assert list(document[person]) == ["display"]
        assert "does not say" in document[person]["display"]


@pytest.mark.parametrize("axis", [10.5, -10, 181])
def test_an_axis_that_fhir_cannot_hold_is_not_rounded_but_told(axis: float) -> None:
    prescription = plain(cylinder=-0.5, axis=axis)
    with pytest.raises(NotWritableError, match=f"Axis {axis:g} was read for the right eye"):
        fhir_document(prescription, as_of=TODAY)
    assert len(not_writable(prescription)) == 1
    assert not_writable(plain(cylinder=-0.5, axis=180)) == []


def test_each_thing_that_fhir_cannot_carry_is_said() -> None:
    issued = {"issued_on": date(2026, 6, 1)}
    assert not_carried(plain().model_copy(update=issued)) == []
    prescription = plain(prism=[PrescribedPrism(amount=2, base=45)]).model_copy(
        update={"vertex_distance_mm": 13.0, "expires_on": date(2028, 6, 1)}
    )
    said = not_carried(prescription, pd=True, frame=True, fitting_height=True, lens=True)
    wanted = ("13 mm", "2028-06-01", "pupillary", "fitting", "frame", "material", "angle", "day of issue")
    assert len(said) == len(wanted)
    for sentence, word in zip(said, wanted, strict=True):
        assert word in sentence


def test_what_was_said_of_the_writing_can_go_with_it_and_asks_for_a_person() -> None:
    notes = not_carried(plain(), pd=True)
    reading = read_fhir(fhir_document(plain(), as_of=TODAY, status="active", notes=notes))
    assert codes(reading) == ["fhir-date-missing", "fhir-note-to-read"]
    assert reading.remarks[1].said.startswith('"FHIR has no element for the pupillary')


# Against an independent model of the standard.


@pytest.fixture(scope="module", params=["fhir.resources.R4B", "fhir.resources"], ids=["r4b", "r5"])
def standard(request: pytest.FixtureRequest) -> Any:
    """The vision prescription of an independent package: R4B (the elements of R4) and R5."""
    if find_spec("fhir") is None and "CI" not in os.environ:
        pytest.skip("the package fhir.resources is not installed")
    return import_module(f"{request.param}.visionprescription").VisionPrescription


@settings(max_examples=50)
@given(data=st.data())
def test_an_independent_package_takes_what_we_write(standard: Any, data: st.DataObject) -> None:
    prescription = data.draw(prescriptions)
    notes = data.draw(st.sampled_from([(), ("FHIR has no element for the frame.",)]))
    document = through_json(fhir_document(prescription, as_of=TODAY, notes=notes))
    resource = standard.model_validate(document)
    assert [one.eye for one in resource.lensSpecification] == ["right", "left"]
    assert float(resource.lensSpecification[0].sphere) == prescription.right.sphere
    assert resource.lensSpecification[1].axis == prescription.left.axis
    assert resource.dateWritten == prescription.issued_on
    # And what the package writes again, we read like our own.
    again = json.loads(resource.model_dump_json())
    assert read_fhir(again).prescription == read_fhir(document).prescription


def test_the_independent_package_refuses_what_is_not_fhir(standard: Any) -> None:
    for edits in ({"/status": GONE}, {f"{RIGHT}/eye": GONE}, {f"{LEFT}/cyl": -0.75}):
        with pytest.raises(ValueError, match=r"validation error for VisionPrescription"):
            standard.model_validate(edited(edits))


@pytest.mark.parametrize("name", ["VisionPrescription-33123", "VisionPrescription-33124"])
def test_the_independent_package_takes_the_official_examples(standard: Any, shared_data: Path, name: str) -> None:
    edition = "r4b" if ".R4B." in standard.__module__ else "r5"
    assert standard.model_validate(example(shared_data, edition, name)).lensSpecification
