"""A shop's list of finished blanks: how it is read, refused, shown, overridden, and what an order is told from it."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from web_toys import JSON

from service.app import create_app
from service.checking import check
from service.contract.order import EXAMPLE_ORDER, Order
from service.profile.loader import ProfileError, load
from service.settings import settings_from

ROW = """
[[blanks]]
name = 'minus 70'
material = 'polycarbonate'
diameter_mm = 70
front_power_d = 4.0
sphere_least_d = -8.0
sphere_most_d = 0.0
cylinder_most_d = 2.0
price = 6.5
"""
LARGE = ROW.replace("70", "75").replace("-8.0", "-2.25").replace("6.5", "8.0")


def written(folder: Path, text: str) -> Path:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def listing_shop(tmp_path: Path) -> TestClient:
    path = written(tmp_path, f"[shop]\nname = 'listing shop'\n{ROW}{LARGE}")
    return TestClient(create_app(settings_from({"BENCHGATE_PROFILE": str(path), "BENCHGATE_LOG": "no"})))


def answer(client: TestClient, order: dict[str, Any], status: int = 200) -> dict[str, Any]:
    response = client.post("/v1/orders/check", content=json.dumps(order), headers=JSON)
    assert response.status_code == status, response.text
    found: dict[str, Any] = response.json()
    return found


UNNAMED = {**EXAMPLE_ORDER, "lens": {"material": "polycarbonate", "use": "distance"}}


@pytest.mark.parametrize(
    ("text", "key"),
    [
        (ROW.replace("polycarbonate", "unobtainium"), "blanks.0.material"),
        (ROW.replace("sphere_least_d = -8.0", "sphere_least_d = 0.5"), "blanks.0.sphere_least_d"),
        (f"{ROW}total_least_d = -1.0\ntotal_most_d = -1.5\n", "blanks.0.total_least_d"),
        (ROW + ROW, "twice"),
        (ROW + LARGE.replace("75'", "70'"), "twice"),
        (ROW.replace("name = 'minus 70'", "name = ''"), "blanks.0.name"),
        (ROW.replace("minus 70", "m" * 61), "blanks.0.name"),
        (f"{ROW}colour = 'clear'\n", "blanks.0.colour"),
        (f"{ROW}step_d = 0.0\n", "blanks.0.step_d"),
        (ROW.replace("price = 6.5", "price = -1"), "blanks.0.price"),
        (ROW.replace("diameter_mm = 70", "diameter_mm = 19.9"), "blanks.0.diameter_mm"),
        (ROW.replace("cylinder_most_d = 2.0", "cylinder_most_d = -2.0"), "blanks.0.cylinder_most_d"),
        (ROW.replace("cylinder_most_d = 2.0\n", ""), "blanks.0.cylinder_most_d"),
        ("".join(ROW.replace("minus 70", f"row {number}") for number in range(501)), "blanks"),
    ],
)
def test_a_fault_in_the_list_names_file_and_key(tmp_path: Path, text: str, key: str) -> None:
    path = written(tmp_path, text)
    with pytest.raises(ProfileError) as refused:
        load(path)
    told = str(refused.value)
    assert key in told
    assert str(path) in told
    assert told.endswith(".")


@pytest.mark.parametrize(
    "text",
    [
        ROW + LARGE,
        ROW.replace("sphere_least_d = -8.0", "sphere_least_d = 0.0"),
        f"{ROW}total_least_d = -1.0\ntotal_most_d = -1.0\n",
        ROW.replace("minus 70", "m" * 60),
        "".join(ROW.replace("minus 70", f"row {number}") for number in range(500)),
    ],
)
def test_a_list_without_a_fault_is_loaded_up_to_its_bounds(tmp_path: Path, text: str) -> None:
    assert len(load(written(tmp_path, text)).profile.blanks) == text.count("[[blanks]]")


def test_the_shipped_profile_lists_no_finished_blank() -> None:
    assert load(None).profile.blanks == []


def test_the_reference_shows_the_list_and_its_diameters(listing_shop: TestClient) -> None:
    keys = {row["key"]: row for row in listing_shop.get("/v1/reference/profile").json()["keys"]}
    assert [row["name"] for row in keys["blanks"]["value"]] == ["minus 70", "minus 75"]
    assert keys["blanks"]["value"][0]["step_d"] == 0.25
    assert keys["blanks"]["set_by"] == "profile 'listing shop', blanks"
    materials = {row["id"]: row for row in listing_shop.get("/v1/reference/materials").json()["materials"]}
    assert materials["polycarbonate"]["stocked_diameters_mm"] == [70.0, 75.0]
    # No row in that material: the plain diameters stand.
    assert materials["hard-resin-1.50"]["stocked_diameters_mm"] == [65.0, 70.0, 75.0]


def test_an_order_is_told_what_the_list_has_for_each_eye(listing_shop: TestClient) -> None:
    # The example: 58 + 2 hypot(4.5, 2) + 2 = 69.85 mm right and 58 + 2 hypot(4, 2) + 2 = 68.94 mm left.
    found = answer(listing_shop, UNNAMED)
    assert found["decision"] == "accept"
    right, left = found["stock"]["right"], found["stock"]["left"]
    assert right == {
        "best": "minus 70",
        "front_power_d": 4.0,
        "diameter_mm": 70.0,
        "centre_mm": None,
        "price": 6.5,
        "candidates": [
            {"name": "minus 70", "diameter_mm": 70.0, "fits": "sure", "reasons": []},
            {"name": "minus 75", "diameter_mm": 75.0, "fits": "sure", "reasons": []},
        ],
        "not_shown": 0,
    }
    assert left["candidates"][1] == {
        "name": "minus 75", "diameter_mm": 75.0, "fits": "no", "reasons": ["sphere-out-of-range"]
    }  # fmt: skip
    assert found["stock"]["pair_price"] == 13.0


def assumed_blanks(found: dict[str, Any]) -> list[tuple[float, str]]:
    pointer = "/lens/blank_diameter_mm"
    return [(one["value"], one["reason"]) for one in found["assumptions"] if one["pointer"] == pointer]


def test_a_blank_left_out_is_the_best_of_the_list_and_named_as_assumed(listing_shop: TestClient) -> None:
    found = answer(listing_shop, UNNAMED)
    assert (found["fit"]["right"]["blank_mm"], found["fit"]["left"]["blank_mm"]) == (70.0, 70.0)
    assert assumed_blanks(found) == [
        (70.0, "No blank was named: 'minus 70' was taken, the best of the shop's list for this pair.")
    ]
    # A frame must suit both lenses, and the power of the left one does not come in 75 mm.
    assert found["fit"]["largest_frame"]["blank_mm"] == 70.0


def test_where_no_row_fits_the_largest_with_the_power_is_judged_and_else_the_largest(listing_shop: TestClient) -> None:
    wide = {**UNNAMED, "frame": {"a_mm": 64, "b_mm": 40, "dbl_mm": 18}}
    found = answer(listing_shop, wide)
    assert (found["fit"]["right"]["blank_mm"], found["fit"]["left"]["blank_mm"]) == (75.0, 70.0)
    (right, why), (left, _) = assumed_blanks(found)
    assert (right, left) == (75.0, 70.0)
    assert why == (
        "No blank was named: for the right eye none with this power in the shop's list is large enough, and the largest of "
        "them was taken."
    )
    strong = answer(listing_shop, {**UNNAMED, "prescription": {"right": {"sphere": -9}, "left": {"sphere": -9}}})
    assert assumed_blanks(strong) == [
        (75.0, "No blank was named: none of the shop's list is known to make this lens, and the largest was taken.")
    ]
    assert strong["fit"]["largest_frame"]["blank_mm"] == 75.0


def test_a_named_blank_is_judged_as_it_is(listing_shop: TestClient) -> None:
    found = answer(listing_shop, {**UNNAMED, "lens": {**UNNAMED["lens"], "blank_diameter_mm": 75}})
    assert (found["fit"]["right"]["blank_mm"], found["fit"]["left"]["blank_mm"]) == (75.0, 75.0)
    assert assumed_blanks(found) == []
    assert (found["stock"]["right"]["best"], found["stock"]["left"]["best"]) == ("minus 75", None)
    assert [one["code"] for one in found["findings"]] == ["blank-not-stocked-in-power"]


def test_a_marked_top_in_the_list_keeps_the_blank_that_is_taken_from_being_turned(tmp_path: Path) -> None:
    order = {**UNNAMED, "lens": {**UNNAMED["lens"], "blank": {"centre_offset_mm": {"right": {"in": -1, "up": 0}}}}}
    for marked, refused in (("false", None), ("true", "marked-top")):
        limits = load(written(tmp_path, f"{ROW}top_marked = {marked}\n"))
        found = check(Order.model_validate(order), limits, date(2026, 11, 25))
        assert found.fit is not None
        assert found.fit.right is not None
        assert found.fit.right.placement is not None
        assert found.fit.right.placement.half_turn is not None
        assert found.fit.right.placement.half_turn.refused == refused
        # The list tells of the top: nothing is assumed.
        assert "/lens/blank/top_marked" not in {one.pointer for one in found.assumptions}


def test_a_material_without_rows_is_judged_as_before(listing_shop: TestClient) -> None:
    found = answer(listing_shop, {**EXAMPLE_ORDER, "lens": {"material": "hard-resin-1.50", "use": "distance"}})
    assert found["stock"] is None
    assert found["fit"]["right"]["blank_mm"] == 75.0


def test_a_diameter_that_the_list_lacks_is_said_to_be_lacking_there(listing_shop: TestClient) -> None:
    order = {**EXAMPLE_ORDER, "lens": {**EXAMPLE_ORDER["lens"], "blank_diameter_mm": 72}}
    (finding,) = [one for one in answer(listing_shop, order)["findings"] if one["code"] == "blank-not-stocked"]
    assert finding["limit_from"] == "profile 'listing shop', blanks"
    assert finding["remedies"][0]["one_of"] == [70.0, 75.0]


def test_a_material_that_only_the_list_has_is_in_stock(tmp_path: Path) -> None:
    limits = load(written(tmp_path, ROW.replace("polycarbonate", "crown-glass")))
    found = {}
    for material in ("crown-glass", "urethane-1.53"):
        order = Order.model_validate({**UNNAMED, "lens": {"material": material, "use": "distance"}})
        found[material] = {one.code: one for one in check(order, limits, date(2026, 11, 25)).findings}
    assert "material-not-stocked" not in found["crown-glass"]
    assert found["urethane-1.53"]["material-not-stocked"].remedies[0].one_of[-1] == "crown-glass"  # type: ignore[index]


def test_a_request_lays_a_list_of_its_own_over_that_of_the_shop(listing_shop: TestClient) -> None:
    own = {"name": "own", "material": "polycarbonate", "diameter_mm": 72, "sphere_least_d": -4, "sphere_most_d": -1}
    found = answer(listing_shop, {**UNNAMED, "profile": {"blanks": [{**own, "cylinder_most_d": 2}]}})
    assert [one["name"] for one in found["stock"]["right"]["candidates"]] == ["own"]
    assert answer(listing_shop, {**UNNAMED, "profile": {"blanks": []}})["stock"] is None
    assert answer(listing_shop, UNNAMED)["stock"]["right"]["best"] == "minus 70"
    problem = answer(listing_shop, {**UNNAMED, "profile": {"blanks": [own]}}, 422)
    assert problem["errors"][0]["pointer"].startswith("/profile/blanks/0")


def test_a_list_of_a_request_that_contradicts_itself_is_a_finding(listing_shop: TestClient) -> None:
    row = {"name": "own", "material": "polycarbonate", "diameter_mm": 72, "cylinder_most_d": 2}
    row |= {"sphere_least_d": 1, "sphere_most_d": -1}
    found = answer(listing_shop, {**UNNAMED, "profile": {"blanks": [row]}})
    (finding,) = found["findings"]
    assert (finding["code"], found["stock"]) == ("profile-contradicts-itself", None)
    assert "blanks.0.sphere_least_d" in finding["message"]
