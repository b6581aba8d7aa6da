"""Whatever document is sent: no exception, no place that leads nowhere, no refusal without a word, short answers."""

import json
from typing import Any

import pytest
from fhir_documents import (
    GONE,
    ORDINARY,
    RIGHT,
    SEVERITY,
    bundle,
    codes,
    edited,
    leads_somewhere,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from service import limits
from service.reading.fhir_read import MAX_LENS_SPECIFICATIONS, read_fhir
from service.rules.fhir import FHIR_RULES
from service.web import strict_json

scalars = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
FIELDS = (
    "resourceType", "status", "dateWritten", "lensSpecification", "product", "coding", "code", "system", "text", "eye",
    "sphere", "cylinder", "axis", "prism", "amount", "base", "add", "power", "note", "entry", "resource", "extension",
    "modifierExtension", "implicitRules", "_axis", "_cylinder", "cyl/a~",
)  # fmt: skip
WORDS = ("VisionPrescription", "Bundle", "active", "right", "left", "in", "lens", "contact", "2026-06-01", "2026", "-2")
anything = st.recursive(
    scalars | st.sampled_from(WORDS),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(FIELDS), inner, max_size=5),
    max_leaves=30,
)


def places(node: Any, at: str = "") -> list[str]:
    found = []
    for name, inner in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
        found += [f"{at}/{name}", *places(inner, f"{at}/{name}")]
    return found


def judged(document: Any) -> None:
    """What must hold for every document."""
    reading = read_fhir(document)
    for remark in reading.remarks:
        assert leads_somewhere(remark.pointer, document), remark
        assert len(list(rule_of(remark.code).look(reading.remarks, None))) == codes(reading).count(remark.code)
    refused = any(SEVERITY[code] == "reject" for code in codes(reading))
    assert (reading.prescription is None) == refused


def rule_of(code: str) -> Any:
    return next(one for one in FHIR_RULES if one.code == code)


@settings(max_examples=400)
@given(anything)
def test_no_document_at_all_raises(document: Any) -> None:
    judged(document)


@settings(max_examples=400)
@given(st.data())
def test_no_edit_of_a_good_document_raises_or_is_refused_without_a_word(data: st.DataObject) -> None:
    edits = {data.draw(st.sampled_from(places(ORDINARY))): data.draw(anything | st.just(GONE))}
    judged(edited(edits))
    judged(bundle(edited(edits)))


@settings(max_examples=200)
@given(anything, st.sampled_from(["sphere", "cylinder", "axis", "add"]), st.sampled_from([0, 1]))
def test_a_figure_is_read_as_the_number_that_stands_there_or_not_at_all(value: Any, name: str, eye: int) -> None:
    prescription = read_fhir(edited({f"/lensSpecification/{eye}/{name}": value})).prescription
    if prescription is None:
        return
    read = getattr(prescription.left if eye else prescription.right, name)
    assert not isinstance(value, bool)
    # The sole change is that of a negative axis.
    assert read == (value if name != "axis" or not -180 <= value < 0 else pytest.approx(value + 180))


HUGE: dict[str, Any] = {
    "many lens specifications": {**ORDINARY, "lensSpecification": [{}] * 9000},
    "many prisms": edited({f"{RIGHT}/prism": [{}] * 9000}),
    "many unknown elements": edited({f"{RIGHT}/x{number}": number for number in range(9000)}),
    "many codings": edited({f"{RIGHT}/product/coding": [{"code": f"x{number}"} for number in range(6000)]}),
    "many notes": edited({f"{RIGHT}/note": [{"text": "tint " * 5}] * 6000}),
    "many entries": bundle(*[{"resourceType": f"x{number}"} for number in range(6000)], ORDINARY),
    "many prescriptions": bundle(*[{"resourceType": "VisionPrescription"}] * 4500),
    "sixteen bad lenses": {**ORDINARY, "lensSpecification": [{"prism": [{}] * 4, "x": 1, "note": 1}] * 16},
}


@pytest.mark.parametrize("name", HUGE)
def test_a_large_document_gets_a_short_answer(name: str) -> None:
    body = json.dumps(HUGE[name]).encode()
    assert len(body) <= limits.MAX_BODY_BYTES
    reading = read_fhir(strict_json.parse(body))
    assert reading.remarks
    assert len(reading.remarks) <= MAX_LENS_SPECIFICATIONS * 20
    assert all(len(one.said) <= 250 and len(one.pointer) <= 100 for one in reading.remarks)
