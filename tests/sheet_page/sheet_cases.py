"""Orders to write sheets for, invented all of them, and what is read back from the files."""

import copy
import json
import random
from datetime import date
from pathlib import Path
from typing import Any

from service.bench_sheet import bench_sheet
from service.contract.order import EXAMPLE_ORDER
from service.contract.sheet import BenchSheet, SheetRequest
from service.profile.loader import load
from service.sheet_page.page import Page, page

SIZES = ("a4", "letter")
SHOP = load(None)
NEVER = date(2099, 1, 1)  # every order carries its day
EXAMPLES = Path(__file__).resolve().parents[2] / "openapi_examples"
ALL_CAUTIONS = [
    "not-medical-advice", "law-and-prescriber-first", "not-safety-eyewear", "impact-resistance",
    "verify-before-dispensing", "uk-supply",
]  # fmt: skip


def example(name: str, **changes: Any) -> dict[str, Any]:
    order: dict[str, Any] = json.loads((EXAMPLES / name / "request.json").read_text("utf-8"))
    return {**order, **changes}


def bifocal_with_prism() -> dict[str, Any]:
    order = example("bifocal-pair")
    order.pop("fitting_height_mm", None)
    order["prescription"]["right"] = {
        "sphere": 1.25, "cylinder": -0.75, "axis": 80, "add": 2.0,
        "prism": [{"amount": 2, "base": "in"}, {"amount": 1, "base": "up"}],
    }  # fmt: skip
    return order


def rejected() -> dict[str, Any]:
    """Much is wrong, and all cautions are on: nothing asks for more room."""
    return {
        "reference": "W-1901 " + "Wm" * 46,
        "prescription": {
            "right": {"sphere": -12.3, "cylinder": -4.5, "axis": 0, "add": 5},
            "left": {
                "sphere": 9, "cylinder": 2.1, "axis": 33,
                "prism": [{"amount": 9, "base": "in"}, {"amount": 9, "base": "up"}],
            },
            "vertex_distance_mm": 18, "issued_on": "2019-01-01", "expires_on": "2020-01-01",
        },
        "pd_mm": {"right": 20, "left": 41},
        "frame": {"a_mm": 60, "b_mm": 40, "dbl_mm": 22, "ed_mm": 55, "rim": "drilled"},
        "fitting_height_mm": {"right": 12.25, "left": 31},
        "lens": {"material": "crown-glass", "use": "progressive", "blank_diameter_mm": 50, "tint": "gradient"},
        "as_worn": {"vertex_distance_mm": 8, "pantoscopic_deg": 25, "face_form_deg": 25},
        "wearer": {"age_years": 9, "useful_eyes": "right"},
        "profile": {"cautions": {"codes": ALL_CAUTIONS}},
        "as_of": "2026-11-25",
    }  # fmt: skip


def crowded_review() -> dict[str, Any]:
    """Every section is as long as it gets for an order that may still be cut."""
    order = example("traced-frame-shifted-blank", reference="W-1902 " + "Wm" * 46)
    order["lens"]["material"] = "glass-1.90"
    order["frame"]["rim"] = "drilled"
    order["frame"]["rim_depth_mm"] = 2.5
    order["profile"] = {"cautions": {"codes": ALL_CAUTIONS}}
    return order


def crowded_order(rng: random.Random) -> dict[str, Any]:
    """An order by chance, with much to say of each lens."""
    order = example("traced-frame-shifted-blank" if rng.random() < 0.5 else "bifocal-pair")
    order["reference"] = "".join(rng.choice("Wmni 漢é") for _ in range(rng.choice((6, 60, 100))))
    for eye in ("right", "left"):
        order["prescription"][eye] = {
            "sphere": rng.randint(-60, 40) / 4, "cylinder": rng.randint(-24, 24) / 4, "axis": rng.randint(1, 180),
            "add": rng.choice((None, 2.25)),
            "prism": rng.choice(([], [{"amount": 2.75, "base": "in"}, {"amount": 3.25, "base": "down"}])),
        }  # fmt: skip
    order["frame"]["rim"] = rng.choice(("full", "grooved", "drilled"))
    order["frame"]["rim_depth_mm"] = rng.choice((None, 2.25))
    lens = order["lens"]
    lens["material"] = rng.choice(("resin-1.56", "polycarbonate", "glass-1.90", "crown-glass"))
    lens["use"] = rng.choice(("distance", "near", "bifocal", "progressive"))
    if lens["use"] != "bifocal":
        lens.pop("segment", None)
    lens["blank_diameter_mm"] = rng.choice((60, 65, 67, 70, 80))
    lens["tint"] = rng.choice(("none", "gradient"))
    lens["blank"] = {"centre_offset_mm": {"right": {"in": 1.25, "up": -1.75}, "left": {"in": -2.5, "up": 0.75}}}
    if rng.random() < 0.4:
        order.pop("fitting_height_mm", None)
    order["profile"] = {"cautions": {"codes": ALL_CAUTIONS}}
    if rng.random() < 0.5:
        order["profile"]["tolerance"] = {"standard": "iso-21987-2017"}
    return order


LETTERS = 'Ångström <script>alert(1)</script> & "W" \u202e\u0007 漢字 الطلب \U0001f453 a\u0301\u0302\u0303'
CASES: dict[str, dict[str, Any]] = {
    "plain": copy.deepcopy(EXAMPLE_ORDER),
    "traced": example("traced-frame"),
    "shifted": example("traced-frame-shifted-blank"),
    "turned": example("blank-turned-by-half-a-turn"),
    "bifocal-with-prism": bifocal_with_prism(),
    "progressive": example("progressive-pair-on-its-blank"),
    "reading-pair": example("reading-pair"),
    "intermediate": example("intermediate-pair"),
    "rejected": rejected(),
    "crowded-review": crowded_review(),
    "long-word": {**EXAMPLE_ORDER, "reference": "W" * 100},
    "any-letters": {**EXAMPLE_ORDER, "reference": LETTERS},
    "wide-letters": {**EXAMPLE_ORDER, "reference": "漢" * 100},
    "not-understood": {**EXAMPLE_ORDER, "prescription": {"written": f"as last time, {LETTERS}"}},
    "no-pd": {**EXAMPLE_ORDER, "pd_mm": {}},
    "unknown-material": {**EXAMPLE_ORDER, "lens": {"material": "amber", "use": "distance", "blank_diameter_mm": 70}},
    "cylinder-without-axis": example("cylinder-without-axis"),
}


def sheet_of(order: dict[str, Any], size: str = "a4") -> BenchSheet:
    return bench_sheet(SheetRequest.model_validate({"order": order, "page": size}), SHOP, NEVER)


def page_of(name: str, size: Any = "a4") -> Page:
    return page(sheet_of(CASES[name], size), size)


def words_of(page: Page) -> list[str]:
    """Everything that must be found in a file, in the order of the page."""
    eyes = [words for row in page.eyes for words in (row.label, row.right, row.left)]
    named = [words for line in (*page.head, *page.edging) for words in (line.label, line.words)]
    return [
        page.reference, page.verdict, *named, *eyes, *page.checks, *page.cautions, *page.remarks, page.more, page.foot
    ]  # fmt: skip
