"""A shop's own profile: every kind of fault names its key, and what the shop sets is what is judged by."""

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from web_toys import JSON

from service.app import create_app
from service.contract.order import EXAMPLE_ORDER
from service.profile.loader import ProfileError, load
from service.settings import Settings, settings_from


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "shop.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize(
    ("text", "key"),
    [
        # Not known.
        ("[blank]\nallowence_mm = 2.0\n", "blank.allowence_mm"),
        ("[blanks]\nallowance_mm = 2.0\n", "blanks"),
        ("[[stock]]\nmaterial = 'polycarbonate'\ndiameter_mm = [70.0]\n", "stock.0.diameter"),
        # Of the wrong kind.
        ("[blank]\nallowance_mm = '2.0'\n", "blank.allowance_mm"),
        ("[blank]\nallowance_mm = true\n", "blank.allowance_mm"),
        ("blank = 2.0\n", "blank"),
        ("[shop]\nname = 5\n", "shop.name"),
        ("[cautions]\ncodes = 'not-medical-advice'\n", "cautions.codes"),
        ("[dates]\nold_after_days = 2026-01-01\n", "dates.old_after_days"),
        ("stock = []\n", "stock"),
        # Out of bounds.
        ("[blank]\nallowance_mm = 10.5\n", "blank.allowance_mm"),
        ("[power]\nreadable_d = nan\n", "power.readable_d"),
        ("[power]\nreadable_d = inf\n", "power.readable_d"),
        ("[tolerance]\nstandard = 'ansi-z80.1-1066'\n", "tolerance.standard"),
        ("[shop]\nname = ''\n", "shop.name"),
        ("[[pd.ranges]]\nbelow_age_years = 200.0\nleast_mm = 50.0\nmost_mm = 70.0\n", "pd.ranges.0.below_age_years"),
        # Lacking.
        ("[[stock]]\nmaterial = 'polycarbonate'\n", "stock.0.diameters_mm"),
        # Known names only.
        ("[[stock]]\nmaterial = 'unobtainium'\ndiameters_mm = [70.0]\n", "stock.0.material"),
        ("[shop]\nusual_material = 'unobtainium'\n", "shop.usual_material"),
        ("[cautions]\ncodes = ['beware']\n", "cautions.codes"),
        # At odds with another key.
        ("[frame]\na_least_mm = 70.0\n", "frame.a_least_mm"),
        ("[frame]\nb_most_mm = 20.0\n", "frame.b_most_mm"),
        ("[fit]\nin_noted_mm = 9.0\n", "fit.in_noted_mm"),
        ("[vertex]\nleast_mm = 20.0\n", "vertex.least_mm"),
        ("[dates]\nold_after_days = 30.0\n", "dates.noted_after_days"),
        ("[power]\ncylinder_large_d = 7.0\n", "power.cylinder_large_d"),
        ("[add]\nleast_d = 4.0\n", "add.least_d"),
        ("[[stock]]\nmaterial = 'polycarbonate'\ndiameters_mm = [0.0]\n", "stock.0.diameters_mm"),
        ("[[pd.ranges]]\nbelow_age_years = 131.0\nleast_mm = 70.0\nmost_mm = 60.0\n", "pd.ranges.0.least_mm"),
        (
            "[[pd.ranges]]\nbelow_age_years = 131.0\nleast_mm = 50.0\nmost_mm = 70.0\n"
            "[[pd.ranges]]\nbelow_age_years = 16.0\nleast_mm = 50.0\nmost_mm = 70.0\n",
            "pd.ranges",
        ),
    ],
)
def test_a_fault_in_a_profile_names_file_and_key(tmp_path: Path, text: str, key: str) -> None:
    path = written(tmp_path, text)
    with pytest.raises(ProfileError) as refused:
        load(path)
    told = str(refused.value)
    assert key in told
    assert str(path) in told
    assert told.endswith(".")


def test_a_material_stocked_twice_is_refused(tmp_path: Path) -> None:
    twice = "[[stock]]\nmaterial = 'polycarbonate'\ndiameters_mm = [70.0]\n" * 2
    with pytest.raises(ProfileError, match="twice"):
        load(written(tmp_path, twice))


@pytest.mark.parametrize("content", [b"[blank", b"allowance = = 2", b"[shop]\nname = 'caf\xe9'\n"])
def test_a_file_that_is_not_toml_is_refused(tmp_path: Path, content: bytes) -> None:
    path = written(tmp_path, content)
    with pytest.raises(ProfileError, match="TOML") as refused:
        load(path)
    assert str(path) in str(refused.value)


def test_a_file_that_cannot_be_opened_is_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(ProfileError, match="cannot be opened") as refused:
            load(path)
        assert str(path) in str(refused.value)
        assert "BENCHGATE_PROFILE" in str(refused.value)


def test_an_empty_profile_is_the_shipped_one(tmp_path: Path) -> None:
    assert load(written(tmp_path, "")).digest == load(None).digest


@pytest.fixture
def corner_shop(tmp_path: Path) -> TestClient:
    path = written(
        tmp_path,
        "[shop]\nname = 'corner shop'\nusual_material = 'crown-glass'\n"
        "[[stock]]\nmaterial = 'crown-glass'\ndiameters_mm = [66, 72.5]\n"
        "[blank]\nallowance_mm = 1\n"
        "[cautions]\ncodes = ['uk-supply', 'not-medical-advice']\n",
    )
    return TestClient(create_app(settings_from({"BENCHGATE_PROFILE": str(path), "BENCHGATE_LOG": "no"})))


def answer(client: TestClient, order: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = client.post("/v1/orders/check", content=json.dumps(order), headers=JSON).json()
    return found


def test_what_the_shop_sets_is_judged_by_and_named(corner_shop: TestClient) -> None:
    found = answer(corner_shop, {**EXAMPLE_ORDER, "lens": {"use": "distance", "blank_diameter_mm": 68.5}})
    assert found["engine"]["profile"].startswith("corner shop (")
    assert {taken["pointer"]: taken["value"] for taken in found["assumptions"]} == {"/lens/material": "crown-glass"}
    # One millimetre less is added than by the shipped profile: 54 + 2 x 4.5 + 1.
    assert found["fit"]["right"]["minimum_blank_mm"]["at_least"] == 64.0
    limits = {one["code"]: one["limit_from"] for one in found["findings"]}
    assert limits["blank-may-be-too-small"] == "profile 'corner shop', blank.allowance_mm"
    assert limits["blank-not-stocked"] == "profile 'corner shop', stock"
    assert [one["code"] for one in found["cautions"]] == ["uk-supply", "not-medical-advice"]


def test_what_the_shop_leaves_out_keeps_the_shipped_value(corner_shop: TestClient) -> None:
    wide = {**EXAMPLE_ORDER, "frame": {**EXAMPLE_ORDER["frame"], "dbl_mm": 30}}
    (finding,) = [one for one in answer(corner_shop, wide)["findings"] if one["code"] == "frame-size-unusual"]
    assert finding["limit_from"] == "shipped default, frame.dbl_most_mm"


def test_a_request_lays_its_overrides_over_the_profile_of_the_shop(corner_shop: TestClient) -> None:
    override = {"blank": {"close_margin_mm": 9}, "stock": [{"material": "polycarbonate", "diameters_mm": [71]}]}
    found = answer(corner_shop, {**EXAMPLE_ORDER, "profile": override})
    by_code = {one["code"]: one for one in found["findings"]}
    assert by_code["blank-close-to-limit"]["limit_from"] == "request, /profile/blank/close_margin_mm"
    assert by_code["blank-not-stocked"]["limit"] == 71.0
    # What the request does not override still comes from the shop.
    assert found["fit"]["right"]["minimum_blank_mm"]["at_least"] == 64.0
    assert answer(corner_shop, EXAMPLE_ORDER)["engine"]["profile"].startswith("corner shop (")


def test_the_reference_tells_where_each_value_came_from(corner_shop: TestClient) -> None:
    profile = corner_shop.get("/v1/reference/profile").json()
    set_by = {row["key"]: row["set_by"] for row in profile["keys"]}
    assert profile["name"] == "corner shop"
    assert set_by["blank.allowance_mm"] == "profile 'corner shop', blank.allowance_mm"
    assert set_by["stock"] == "profile 'corner shop', stock"
    assert set_by["blank.close_margin_mm"] == "shipped default, blank.close_margin_mm"


def test_a_profile_that_cannot_be_used_keeps_the_service_from_starting(tmp_path: Path) -> None:
    path = written(tmp_path, "[blank]\nallowance_mm = 99.0\n")
    with pytest.raises(ProfileError, match=r"blank\.allowance_mm"):
        create_app(Settings(profile_path=path, log=False))
