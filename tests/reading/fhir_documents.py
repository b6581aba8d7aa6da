"""FHIR documents for the tests: an ordinary one to edit, and what a pointer into one leads to."""

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

from service.reading.fhir_remarks import FhirReading
from service.rules.fhir import FHIR_RULES

SYSTEM = "http://terminology.hl7.org/CodeSystem/ex-visionprescriptionproduct"


def product(code: str) -> dict[str, Any]:
    return {"coding": [{"system": SYSTEM, "code": code}]}


ORDINARY: dict[str, Any] = {
    "resourceType": "VisionPrescription",
    "status": "active",
    "created": "2026-06-01",
    "patient": {"display": "nobody"},
    "dateWritten": "2026-06-01",
    "prescriber": {"display": "nobody"},
    "lensSpecification": [
        {
            "product": product("lens"),
            "eye": "right",
            "sphere": -2.25,
            "cylinder": -0.75,
            "axis": 10,
            "add": 2,
            "prism": [{"amount": 0.5, "base": "down"}],
        },
        {"product": product("lens"), "eye": "left", "sphere": -2.5, "add": 2},
    ],
}
GONE: Any = object()
RIGHT, LEFT = "/lensSpecification/0", "/lensSpecification/1"
SEVERITY = {one.code: one.severity for one in FHIR_RULES}


def parts(pointer: str) -> list[str]:
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]


def stepped(node: Any, part: str) -> Any:
    return node[int(part)] if isinstance(node, list) else node[part]


def edited(edits: dict[str, Any]) -> dict[str, Any]:
    """The ordinary document with members set, or taken away where the value is GONE."""
    document = deepcopy(ORDINARY)
    for pointer, value in edits.items():
        *way, last = parts(pointer)
        node: Any = document
        for part in way:
            node = stepped(node, part)
        if isinstance(node, list) and int(last) == len(node):
            node.append(value)
        elif value is GONE:
            del node[int(last) if isinstance(node, list) else last]
        else:
            node[int(last) if isinstance(node, list) else last] = value
    return document


def bundle(*resources: Any) -> dict[str, Any]:
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": one} for one in resources]}


def leads_somewhere(pointer: str, document: Any) -> bool:
    """Whether a pointer resolves, or its parent does (where the member is missing)."""
    if pointer == "":
        return True
    *way, last = parts(pointer)
    node = document
    try:
        for part in way:
            node = stepped(node, part)
    except (KeyError, IndexError, TypeError, ValueError):
        return False
    return isinstance(node, dict) or (isinstance(node, list) and int(last) < len(node))


def codes(reading: FhirReading) -> list[str]:
    return [remark.code for remark in reading.remarks]


def example(folder: Path, edition: str, name: str) -> Any:
    # Not by the strict parser: the narrative of one example is longer than the longest text of an ordinary body.
    return json.loads((folder / "fhir" / edition / f"{name}.json").read_bytes())
