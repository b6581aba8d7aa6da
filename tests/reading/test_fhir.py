"""HL7 FHIR vision prescriptions are read without guessing, and each doubt has its place and its words."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from fhir_documents import (
    GONE,
    LEFT,
    ORDINARY,
    RIGHT,
    SEVERITY,
    bundle,
    codes,
    edited,
    example,
    leads_somewhere,
    product,
)

from service.contract.order import PrescribedEye, PrescribedPrism, StructuredPrescription
from service.reading.fhir_read import MAX_LENS_SPECIFICATIONS, read_fhir
from service.rules.fhir import FHIR_RULES

EDITIONS = ("r4", "r4b", "r5")


@pytest.fixture(params=EDITIONS)
def edition(request: pytest.FixtureRequest) -> str:
    return str(request.param)


# The official examples.


def test_the_official_spectacle_example_is_read_as_its_own_narrative_has_it(shared_data: Path, edition: str) -> None:
    # "OD -2.00 SPH +2.00 add 0.5 p.d. BD; OS -1.00 -0.50 x 180 +2.00 add 0.5 p.d. BU", 2014-06-15
    reading = read_fhir(example(shared_data, edition, "VisionPrescription-33123"))
    assert reading.remarks == ()
    assert reading.prescription == StructuredPrescription(
        right=PrescribedEye(sphere=-2.0, add=2.0, prism=[PrescribedPrism(amount=0.5, base="down")]),
        left=PrescribedEye(
            sphere=-1.0, cylinder=-0.5, axis=180.0, add=2.0, prism=[PrescribedPrism(amount=0.5, base="up")]
        ),
    ).model_copy(update={"issued_on": date(2014, 6, 15)})
    assert reading.prescription.right.cylinder is None


def test_the_official_contact_lens_example_is_refused_for_both_eyes(shared_data: Path, edition: str) -> None:
    reading = read_fhir(example(shared_data, edition, "VisionPrescription-33124"))
    assert reading.prescription is None
    assert [(one.code, one.eye, one.pointer) for one in reading.remarks] == [
        ("fhir-contact-lens", "right", f"{RIGHT}/product"),
        ("fhir-contact-lens", "left", f"{LEFT}/product"),
    ]


@pytest.mark.parametrize("side", ["right", "left"])
def test_the_official_device_requests_are_no_vision_prescriptions(shared_data: Path, edition: str, side: str) -> None:
    document = example(shared_data, edition, f"DeviceRequest-{side}-lens")
    for sent, code in ((document, "fhir-not-a-vision-prescription"), (bundle(document), "fhir-bundle-holds-none")):
        reading = read_fhir(sent)
        assert codes(reading) == [code]
        assert reading.prescription is None
        assert "DeviceRequest" in reading.remarks[0].said


def test_the_prism_without_base_of_the_official_device_request_is_asked_for(shared_data: Path, edition: str) -> None:
    device = example(shared_data, edition, "DeviceRequest-right-lens")
    amounts = [
        one["valueQuantity"]["value"] for one in device["parameter"] if "prism" in one["code"]["text"].casefold()
    ]
    assert amounts == [-2.0]
    reading = read_fhir(edited({f"{RIGHT}/prism": [{"amount": abs(amounts[0])}]}))
    assert [(one.code, one.eye, one.said) for one in reading.remarks] == [
        ("fhir-prism-without-base", "right", "a prism of 2")
    ]
    assert reading.prescription is None


def test_a_bundle_with_one_prescription_is_read_like_it_alone(shared_data: Path, edition: str) -> None:
    alone = example(shared_data, edition, "VisionPrescription-33123")
    device = example(shared_data, edition, "DeviceRequest-left-lens")
    reading = read_fhir(bundle(device, alone))
    assert reading.prescription == read_fhir(alone).prescription
    assert [(one.code, one.said) for one in reading.remarks] == [("fhir-set-aside", "DeviceRequest")]
    assert reading.place_of("/prescription/left/axis") == "/entry/1/resource/lensSpecification/1/axis"


# Every code: an edit of the ordinary document that calls for it, its eye, and the place that is named.

NOTES = [{"text": "balance lens"}]
CASES: dict[str, list[tuple[dict[str, Any], str | None, str]]] = {
    "fhir-status-missing": [({"/status": GONE}, None, "/status")],
    "fhir-status-not-usable": [
        ({"/status": "cancelled"}, None, "/status"),
        ({"/status": "entered-in-error"}, None, "/status"),
        ({"/status": "on-hold"}, None, "/status"),
        ({"/status": None}, None, "/status"),
    ],
    "fhir-modifier-extension": [
        ({"/modifierExtension": [{"url": "x"}]}, None, "/modifierExtension"),
        ({f"{RIGHT}/modifierExtension": [{"url": "x"}]}, "right", f"{RIGHT}/modifierExtension"),
        ({f"{RIGHT}/prism/0/modifierExtension": [{"url": "x"}]}, "right", f"{RIGHT}/prism/0/modifierExtension"),
    ],
    "fhir-implicit-rules": [({"/implicitRules": "http://example.com/rules"}, None, "/implicitRules")],
    "fhir-element-unknown": [
        ({"/dispense": []}, None, ""),
        ({f"{LEFT}/cyl": -0.75}, "left", LEFT),
        ({f"{LEFT}/__sphere": {}}, "left", LEFT),
        ({f"{RIGHT}/prism/0/angle": 45}, "right", f"{RIGHT}/prism/0"),
    ],
    "fhir-contact-lens": [
        ({f"{RIGHT}/product": product("contact")}, "right", f"{RIGHT}/product"),
        ({f"{RIGHT}/product": {"text": "Soft Contact lens"}}, "right", f"{RIGHT}/product"),
        ({f"{LEFT}/power": -2.75}, "left", f"{LEFT}/power"),
        ({f"{LEFT}/backCurve": 8.7}, "left", f"{LEFT}/backCurve"),
        ({f"{LEFT}/diameter": 14}, "left", f"{LEFT}/diameter"),
        ({f"{LEFT}/_power": {}}, "left", f"{LEFT}/_power"),
    ],
    "fhir-eye-missing": [({LEFT: GONE}, "left", "/lensSpecification"), ({RIGHT: GONE}, "right", "/lensSpecification")],
    "fhir-eye-twice": [
        ({f"{LEFT}/eye": "right", "/lensSpecification/2": ORDINARY["lensSpecification"][1]}, "right", f"{LEFT}/eye")
    ],
    "fhir-sphere-missing": [
        ({f"{LEFT}/sphere": GONE}, "left", f"{LEFT}/sphere"),
        ({f"{RIGHT}/sphere": GONE}, "right", f"{RIGHT}/sphere"),
    ],
    "fhir-figure-withheld": [
        (
            {f"{RIGHT}/{name}": GONE, f"{RIGHT}/_{name}": {"extension": []}},
            "right",
            f"{RIGHT}/_{name}",
        )
        for name in ("cylinder", "axis", "add")
    ],
    "fhir-prism-without-base": [({f"{RIGHT}/prism/0/base": GONE}, "right", f"{RIGHT}/prism/0/base")],
    "fhir-status-draft": [({"/status": "draft"}, None, "/status")],
    "fhir-product-unknown": [
        ({f"{LEFT}/product": GONE}, "left", f"{LEFT}/product"),
        ({f"{LEFT}/product": product("frame")}, "left", f"{LEFT}/product"),
        ({f"{LEFT}/product": {"coding": [{"code": "lens"}]}}, "left", f"{LEFT}/product"),
        ({f"{LEFT}/product": [product("lens")]}, "left", f"{LEFT}/product"),
    ],
    "fhir-axis-negative": [({f"{RIGHT}/axis": -10}, "right", f"{RIGHT}/axis")],
    "fhir-note-to-read": [
        ({f"{LEFT}/note": NOTES}, "left", f"{LEFT}/note"),
        ({"/text": {"status": "additional", "div": "<div/>"}}, None, "/text"),
    ],
    "fhir-date-missing": [({"/dateWritten": GONE}, None, "/dateWritten")],
    "fhir-date-partial": [
        ({"/dateWritten": "2026"}, None, "/dateWritten"),
        ({"/dateWritten": "2026-06"}, None, "/dateWritten"),
    ],
    "fhir-set-aside": [
        ({"/extension": [{"url": "x"}]}, None, ""),
        ({f"{LEFT}/color": "green", f"{LEFT}/brand": "any", f"{LEFT}/duration": {}}, "left", LEFT),
        ({f"{RIGHT}/_axis": {"extension": []}}, "right", RIGHT),
        ({f"{RIGHT}/prism/0/extension": []}, "right", f"{RIGHT}/prism/0"),
        ({f"{LEFT}/product": {**product("lens"), "text": "progressive"}}, "left", f"{LEFT}/product"),
    ],
}
NOT_USABLE: list[tuple[str, Any, str]] = [
    (f"{RIGHT}/sphere", "-2.25", '"-2.25"'),
    (f"{RIGHT}/sphere", None, "null"),
    (f"{RIGHT}/sphere", True, "true"),
    (f"{RIGHT}/sphere", 1000.25, "1000.25"),
    (f"{RIGHT}/sphere", -(10**400), "a very long number"),
    (f"{RIGHT}/cylinder", [], "a list"),
    (f"{RIGHT}/axis", "180", '"180"'),
    (f"{RIGHT}/add", {"value": 2}, "an object"),
    (f"{RIGHT}/prism", 2.0, "2"),
    (f"{RIGHT}/prism", [{"amount": 1, "base": "in"}] * 5, "5 components"),
    (f"{RIGHT}/prism/0", 2.0, "2"),
    (f"{RIGHT}/prism/0/amount", GONE, "nothing"),
    (f"{RIGHT}/prism/0/amount", -1, "-1"),
    (f"{RIGHT}/prism/0/base", "nasal", '"nasal"'),
    (f"{RIGHT}/prism/0/base", 45, "45"),
    (f"{RIGHT}/eye", "OD", '"OD"'),
    (f"{RIGHT}/eye", GONE, "nothing"),
    (RIGHT, "R -2.25", '"R -2.25"'),
    ("/lensSpecification", {}, "an object"),
    ("/lensSpecification", [{}] * (MAX_LENS_SPECIFICATIONS + 1), "17 lens specifications"),
    ("/dateWritten", "2026-02-30", '"2026-02-30"'),
    ("/dateWritten", "2026-13", '"2026-13"'),
    ("/dateWritten", "01/06/2026", '"01/06/2026"'),
    ("/dateWritten", 2026, "2026"),
]
EDITS = [(code, *case) for code, cases in CASES.items() for case in cases]
# Whole documents, not edits.
APART = {
    "fhir-not-a-vision-prescription",
    "fhir-bundle-holds-none",
    "fhir-bundle-holds-several",
    "fhir-value-not-usable",
}


def test_the_ordinary_document_calls_for_no_remark() -> None:
    reading = read_fhir(ORDINARY)
    assert reading.remarks == ()
    assert reading.prescription is not None


@pytest.mark.parametrize(("code", "edits", "eye", "pointer"), EDITS)
def test_each_doubt_is_said_alone_with_its_place(
    code: str, edits: dict[str, Any], eye: str | None, pointer: str
) -> None:
    document = edited(edits)
    for sent, before in ((document, ""), (bundle(document), "/entry/0/resource")):
        reading = read_fhir(sent)
        assert [(one.code, one.eye, one.pointer) for one in reading.remarks] == [(code, eye, before + pointer)]
        assert leads_somewhere(before + pointer, sent)
        assert (reading.prescription is None) == (SEVERITY[code] == "reject")


@pytest.mark.parametrize(("pointer", "value", "said"), NOT_USABLE)
def test_a_value_of_another_kind_or_size_is_quoted_and_refused(pointer: str, value: Any, said: str) -> None:
    reading = read_fhir(edited({pointer: value}))
    assert [(one.code, one.pointer, one.said) for one in reading.remarks] == [("fhir-value-not-usable", pointer, said)]
    assert reading.remarks[0].expected
    assert reading.prescription is None


@pytest.mark.parametrize("document", [None, True, 1.5, "text", [], [ORDINARY], {}, {"resourceType": "Patient"}])
def test_what_is_no_vision_prescription_is_refused_as_a_whole(document: object) -> None:
    reading = read_fhir(document)
    assert [(one.code, one.pointer) for one in reading.remarks] == [("fhir-not-a-vision-prescription", "")]
    assert reading.prescription is None


def test_a_bundle_must_hold_exactly_one_prescription() -> None:
    for entries in (GONE, None, [], [None], [{}], [{"resource": bundle(ORDINARY)}]):
        document = {"resourceType": "Bundle", "type": "collection"} | ({} if entries is GONE else {"entry": entries})
        assert codes(read_fhir(document)) == ["fhir-bundle-holds-none"]
    several = read_fhir(bundle(ORDINARY, {"resourceType": "Patient"}, ORDINARY))
    assert [(one.code, one.pointer, one.said) for one in several.remarks] == [
        ("fhir-bundle-holds-several", "/entry/2/resource", "2")
    ]
    assert several.prescription is None


def test_what_changes_the_meaning_of_a_bundle_is_refused() -> None:
    ruled = {**bundle(ORDINARY), "implicitRules": "http://example.com/rules"}
    assert codes(read_fhir(ruled)) == ["fhir-implicit-rules"]
    turned = bundle(ORDINARY)
    turned["entry"][0]["modifierExtension"] = [{"url": "x"}]
    assert codes(read_fhir(turned)) == ["fhir-modifier-extension"]
    assert read_fhir(ruled).prescription is read_fhir(turned).prescription is None


def test_every_rule_is_reached_by_a_case() -> None:
    assert set(SEVERITY) == set(CASES) | APART


@pytest.mark.parametrize(("written", "taken"), [(-10, 170.0), (-90, 90.0), (-179, 1.0), (-180, 180.0)])
def test_a_negative_axis_is_taken_as_the_same_direction(written: int, taken: float) -> None:
    reading = read_fhir(edited({f"{RIGHT}/axis": written}))
    assert reading.prescription is not None
    assert reading.prescription.right.axis == taken
    assert [(one.code, one.value, one.taken) for one in reading.remarks] == [("fhir-axis-negative", written, taken)]


@pytest.mark.parametrize("axis", [0, 1, 10.5, 180, 181, 360, -181])
def test_any_other_axis_is_left_to_our_own_rules(axis: float) -> None:
    reading = read_fhir(edited({f"{RIGHT}/axis": axis}))
    assert reading.prescription is not None
    assert reading.prescription.right.axis == axis
    assert reading.remarks == ()


@pytest.mark.parametrize(
    "written", ["2026-06-01", "2026-06-01T23:30:00-11:00", "2026-06-01T00:10:00.5+14:00", "2026-06-01T12:00Z"]
)
def test_the_day_is_the_one_where_it_was_written(written: str) -> None:
    prescription = read_fhir(edited({"/dateWritten": written})).prescription
    assert prescription is not None
    assert prescription.issued_on == date(2026, 6, 1)


def test_both_kinds_of_lens_in_one_document_are_refused_and_no_eye_is_called_missing() -> None:
    contact = {"product": product("contact"), "power": -2.0}
    right, left = {**contact, "eye": "right"}, {**contact, "eye": "left"}
    beside = edited({"/lensSpecification/2": right, "/lensSpecification/3": left})
    instead = edited({"/lensSpecification/2": right, LEFT: left})
    for document in (beside, instead):
        reading = read_fhir(document)
        assert codes(reading) == ["fhir-contact-lens", "fhir-contact-lens"]
        assert reading.prescription is None


def test_a_long_text_is_quoted_by_its_beginning() -> None:
    reading = read_fhir(edited({f"{LEFT}/note": [{"text": "tint \n" * 300}]}))
    assert len(reading.remarks[0].said) < 50
    assert "\n" not in reading.remarks[0].said


# Words.


@pytest.mark.parametrize("one", FHIR_RULES, ids=lambda one: one.code)
def test_both_texts_of_a_rule_are_filled_by_what_the_remark_tells(one: Any) -> None:
    documents = [edited(case[0]) for case in CASES.get(one.code, [])]
    documents += [edited({pointer: value}) for pointer, value, _ in NOT_USABLE] if one.code in APART else []
    documents += [{}, bundle(), bundle(ORDINARY, ORDINARY)]
    found = [(reading, noticed) for reading in map(read_fhir, documents) for noticed in one.look(reading.remarks, None)]
    assert found
    for reading, noticed in found:
        assert noticed.pointer in [remark.pointer for remark in reading.remarks if remark.code == one.code]
        given = {"eye": f"{noticed.eye} eye" if noticed.eye else "", "value": noticed.value, "limit": noticed.limit}
        for text in (one.shop, one.customer):
            words = text.format_map({**given, **noticed.words})
            assert "None" not in words
            assert "  " not in words
        assert "{eye}" not in one.shop + one.customer or noticed.eye


def test_a_finding_of_our_own_rules_is_placed_in_the_document() -> None:
    turned = edited({RIGHT: ORDINARY["lensSpecification"][1], LEFT: ORDINARY["lensSpecification"][0]})
    reading = read_fhir(turned)
    assert reading.place_of("/prescription/right/prism/0/amount") == f"{LEFT}/prism/0/amount"
    assert reading.place_of("/prescription/left") == RIGHT
    assert reading.place_of("/prescription/issued_on") == "/dateWritten"
    assert reading.place_of("/prescription/vertex_distance_mm") == reading.place_of("/prescription") == ""
