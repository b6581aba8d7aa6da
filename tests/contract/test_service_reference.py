"""The reference endpoints are complete: whatever an answer rests on can be looked up."""

import json
import re
from typing import Any
from urllib.parse import urljoin

import pytest
from starlette.testclient import TestClient
from web_toys import JSON

from optics_core.materials import materials
from optics_core.sources import sources
from optics_core.tolerance import standards, tolerances
from service.contract.order import EXAMPLE_ORDER
from service.limits import LIMITS
from service.profile.model import Profile
from service.rules.registry import RULES
from service.web.problems import PROBLEMS

Row = dict[str, Any]


def rows(service: TestClient, name: str, member: str) -> list[Row]:
    response = service.get(f"/v1/reference/{name}")
    assert response.status_code == 200
    found: list[Row] = response.json()[member]
    return found


def assert_source(row: Row | None) -> None:
    assert row is not None
    known = sources()[row["id"]]
    assert (row["title"], row["where"], row["grade"], row["mark"]) == (
        known.title,
        known.where,
        known.grade,
        known.mark,
    )
    assert row["title"]


def test_every_rule_is_printed_once_with_its_texts_and_source(service: TestClient) -> None:
    printed = rows(service, "rules", "rules")
    assert [row["code"] for row in printed] == [one.code for one in RULES]
    assert len({row["code"] for row in printed}) == len(printed) > 70
    for row in printed:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["code"])
        assert row["severity"] in ("reject", "review", "note")
        assert row["about"].endswith(".")
        assert row["message"].rstrip("}").endswith((".", "?", "{material_word", "{fault", "{how")), row["code"]
        assert row["customer_message"].endswith((".", "?")), row["code"]
        assert "{limit}" not in row["customer_message"], row["code"]
        assert_source(row["source"])


def test_every_material_is_printed_with_figures_ranges_and_source(service: TestClient) -> None:
    printed = rows(service, "materials", "materials")
    assert [row["id"] for row in printed] == list(materials())
    for row in printed:
        assert row["abbe_low"] <= row["abbe"] <= row["abbe_high"]
        assert row["density_low_g_cm3"] <= row["density_g_cm3"] <= row["density_high_g_cm3"]
        assert row["index_d"] or row["index_e"], row["id"]
        assert_source(row["source"])
        assert row["stocked_diameters_mm"] == sorted(row["stocked_diameters_mm"])
    assert sum(bool(row["stocked_diameters_mm"]) for row in printed) >= 5


def test_every_row_of_both_tolerance_tables_is_printed_once_with_source_and_mark(service: TestClient) -> None:
    printed = {table["id"]: table for table in rows(service, "tolerances", "tables")}
    assert list(printed) == list(standards()) == ["ansi-z80.1-2015", "iso-21987-2017"]
    for name, table in printed.items():
        kept = tolerances(standard=name)
        assert (table["standard"], table["year"]) == (kept["standard"], kept["year"])
        assert (table["cylinder_form"], table["governing_power"]) == (kept["cylinder_form"], kept["governing_power"])
        assert table["least_cylinder_d"] == kept["axis_least_cylinder_d"]
        expected = [
            {"section": section, **row} for section, part in kept.items() if isinstance(part, list) for row in part
        ]
        found = [
            {
                "section": row["section"],
                **{key: row[key] for key in ("lens", "quantity", "remark") if row[key] is not None},
                **row["up_to"],
                **row["limits"],
                "source": row["source"]["id"],
                "mark": row["mark"],
            }
            for row in table["rows"]
        ]
        assert found == [
            {**{("quantity" if key == "direction" else key): value for key, value in row.items()}} for row in expected
        ]
        assert len({json.dumps(row, sort_keys=True) for row in found}) == len(found) > 30
        for row in table["rows"]:
            assert row["limits"]
            assert row["mark"] in ("read", "memory")
            assert_source(row["source"])
            units = {key.rpartition("_")[2] for key in (*row["limits"], *row["up_to"])}
            assert units <= {"d", "deg", "pd", "mm", "percent"}, row


def test_a_table_says_what_was_taken_where_editions_disagree(service: TestClient) -> None:
    """Handbook, standards 8: which meridian governs, the progressive switch, the cylinder band, the axis of weak cylinders."""
    ansi, iso = rows(service, "tolerances", "tables")
    remarks = " ".join(row["remark"] or "" for row in ansi["rows"])
    for words in (
        "3.75 that was read was taken",
        "one study page ends this band at 3.50",
        "14 from 2005 on, which was taken",
    ):
        assert words in remarks
    assert "real doubt" in " ".join(row["remark"] or "" for row in iso["rows"])
    for table in (ansi, iso):
        assert "was taken" in table["remark"] or "each standard keeps its own" in table["remark"]


def test_every_key_of_the_profile_is_printed_with_value_unit_and_source(service: TestClient) -> None:
    printed = {row["key"]: row for row in rows(service, "profile", "keys")}
    expected = {"stock", "blanks"} | {
        f"{name}.{key}"
        for name, section in Profile.model_fields.items()
        if hasattr(section.annotation, "model_fields")
        for key in section.annotation.model_fields
    }
    assert set(printed) == expected
    for key, row in printed.items():
        assert row["value"] is not None
        assert row["description"], key
        assert row["set_by"] == f"shipped default, {key}"
        if isinstance(row["value"], int | float):
            assert row["unit"], key
            assert f"Unit: {row['unit']}" in row["description"], key
            assert_source(row["source"])


def test_every_bound_and_every_problem_is_printed(service: TestClient) -> None:
    bounds = rows(service, "limits", "limits")
    assert [(row["name"], row["value"], row["unit"]) for row in bounds] == [
        (one.name, one.value, one.unit) for one in LIMITS
    ]
    assert all(row["description"].endswith(".") for row in bounds)
    problems = rows(service, "problems", "problems")
    assert [(row["code"], row["status"]) for row in problems] == [(one.code, one.status) for one in PROBLEMS]
    assert all(row["type"] == f"/v1/reference/problems#{row['code']}" for row in problems)


EYE = {"sphere": 9.1, "cylinder": 6.5, "axis": 0, "add": 4.0, "prism": [{"amount": 12, "base": "up"}]}
ODD_ORDERS: list[Row] = [
    {"prescription": {"right": EYE, "left": {**EYE, "cylinder": -3, "add": 2.0}, "expires_on": "2020-01-01"}},
    {"prescription": {"right": {"sphere": 1, "cylinder": 1}, "left": {"sphere": 50, "axis": 190}}, "pd_mm": {}},
    {"frame": {"a_mm": 70, "b_mm": 75, "dbl_mm": 5, "ed_mm": 60}, "fitting_height_mm": {"right": 74, "left": 80}},
    {"frame": {"a_mm": 62, "b_mm": 40, "dbl_mm": 20}, "lens": {"material": "unheard-of", "blank_diameter_mm": 78}},
    {"lens": {"use": "progressive", "material": "glass-1.90"}, "wearer": {"age_years": 3, "useful_eyes": "left"}},
    {"pd_mm": {"both": 33}, "as_worn": {"vertex_distance_mm": 30}},
    {"pd_mm": {"right": 63, "left": 20, "near": {"both": 90}}},
    {"profile": {"frame": {"a_least_mm": 100}}},
    {"prescription": {"written": "R -2.25 -0.75 x 10  L -2.50 -0.50 x 170"}},
    {"prescription": {"written": "R -225 -075 x 190 ?"}},
]


def test_every_finding_of_an_answer_can_be_looked_up(service: TestClient) -> None:
    printed = {row["code"]: row for row in rows(service, "rules", "rules")}
    cited = {f"[{row['source']['id']}]" for row in printed.values()} | {"[iso-21987-2017]"}
    seen = set()
    for changes in ODD_ORDERS:
        order = {**EXAMPLE_ORDER, **changes}
        answer = service.post("/v1/orders/check", content=json.dumps(order), headers=JSON).json()
        assert answer["findings"], changes
        for finding in answer["findings"]:
            assert finding["severity"] == printed[finding["code"]]["severity"]
            assert finding["source"].endswith(tuple(cited)), finding["source"]
            seen.add(finding["code"])
    assert len(seen) > 40


@pytest.mark.parametrize("path", ["/", "/docs"])
def test_the_pages_for_people_are_there(service: TestClient, path: str) -> None:
    response = service.get(path)
    assert response.status_code == 200
    assert response.headers["content-type"].startswith("text/html")
    assert "benchgate" in response.text


def test_the_landing_page_leads_to_everything_that_can_be_read(service: TestClient) -> None:
    page = service.get("/").text
    links = set(re.findall(r'(?:href|src)="([^"]+)"', page))
    assert {"docs", "openapi.json", "v1/reference/rules"} <= {link.removeprefix("/") for link in links}
    for link in links:
        assert "//" not in link, link
        assert service.get(urljoin("/", link)).status_code == 200, link
