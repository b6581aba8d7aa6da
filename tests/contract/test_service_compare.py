"""POST /v1/lenses/compare: which rows there are, what stands in them, in which order, and what is said where none can be.

Expected figures are worked out here a second time: sags of spheres by Pythagoras, weights from spherical caps, fringes by
hand. That each row is what the check says is held in tests/properties/test_orders_compare.py.
"""

import copy
import json
import math
from typing import Any

import pytest
from service_calls import CHECK, LEFT_OUT, example
from starlette.testclient import TestClient
from web_toys import JSON, problem_of

from optics_core.materials import materials
from service.contract.compare import EXAMPLE_COMPARISON
from service.limits import MAX_COMPARED_MATERIALS, MAX_COMPARED_ROWS

COMPARE = "/v1/lenses/compare"
STOCKED = ["hard-resin-1.50", "polycarbonate", "thiourethane-1.60", "thiourethane-1.67", "episulphide-1.74"]
Document = dict[str, Any]


def send(service: TestClient, document: Document) -> Any:
    return service.post(COMPARE, content=json.dumps(document), headers=JSON)


def compared(service: TestClient, order: Document, **more: Any) -> Document:
    response = send(service, {"order": order, **more})
    assert response.status_code == 200, response.text
    document: Document = response.json()
    return document


def rows_of(answer: Document) -> list[tuple[str, float | None]]:
    return [(row["material"]["id"], row["blank_mm"]) for row in answer["rows"]]


def sphere(right: float, left: float | None = None) -> Document:
    return {"right": {"sphere": right}, "left": {"sphere": right if left is None else left}, "issued_on": "2026-06-01"}


def with_blanks(*rows: tuple[str, str, float, float | None], **changes: object) -> Document:
    """An order and a list of finished blanks: name, material, diameter, price."""
    listed = [
        {
            "name": name, "material": material, "diameter_mm": diameter, "sphere_least_d": -8.0, "sphere_most_d": 6.0,
            "cylinder_most_d": 4.0, **({} if price is None else {"price": price}),
        }
        for name, material, diameter, price in rows
    ]  # fmt: skip
    return example(profile__blanks=listed, **changes)


# Which rows.


def test_without_names_every_stocked_material_is_compared_on_every_stocked_blank(service: TestClient) -> None:
    answer = compared(service, example())
    assert sorted(rows_of(answer)) == sorted((name, blank) for name in STOCKED for blank in (65.0, 70.0, 75.0))
    assert [one["value"] for one in answer["assumptions"] if one["pointer"] == "/materials"] == ["stocked"]
    assert [one["value"] for one in answer["assumptions"] if one["pointer"] == "/sort_by"] == ["thickest_edge"]


def test_a_row_tells_the_figures_of_its_material(service: TestClient) -> None:
    for row in compared(service, example())["rows"]:
        known = materials()[row["material"]["id"]]
        assert row["material"] == {
            "id": known.id,
            "name": known.name,
            "index_d": known.index_d,
            "abbe": known.abbe,
            "density_g_cm3": known.density_g_cm3,
            "impact_resistant": known.impact_resistant,
        }


def test_the_materials_named_are_compared_and_no_others_each_once(service: TestClient) -> None:
    answer = compared(service, example(), materials=["polycarbonate", "hard-resin-1.50", "polycarbonate"])
    assert sorted(rows_of(answer)) == [
        (name, blank) for name in ("hard-resin-1.50", "polycarbonate") for blank in (65.0, 70.0, 75.0)
    ]
    assert answer["findings"] == []
    assert not [one for one in answer["assumptions"] if one["pointer"] == "/materials"]


def test_the_list_of_finished_blanks_goes_before_the_plain_diameters(service: TestClient) -> None:
    order = with_blanks(("thin 68", "polycarbonate", 68.0, 8.0), ("thin 72", "polycarbonate", 72.0, 9.0))
    answer = compared(service, order, materials=["polycarbonate", "hard-resin-1.50"])
    blanks = [blank for name, blank in rows_of(answer) if name == "polycarbonate"]
    assert sorted(blanks) == [68.0, 72.0]
    assert len(answer["rows"]) == 5


def test_a_material_that_is_not_in_stock_has_one_row_without_a_blank(service: TestClient) -> None:
    (row,) = compared(service, example(), materials=["crown-glass"])["rows"]
    assert (row["blank_mm"], row["decision"]) == (None, "review")
    assert row["codes"] == ["material-not-stocked"]
    assert row["right"]["margin_mm"] is None
    assert row["right"]["thickest_edge_mm"] > row["right"]["centre_mm"] > 0


def test_a_material_that_is_not_known_is_said_and_left_out(service: TestClient) -> None:
    answer = compared(service, example(), materials=["polycarbonate", "unobtainium"])
    (finding,) = answer["findings"]
    assert (finding["code"], finding["severity"]) == ("compare-material-not-known", "review")
    assert (finding["pointer"], finding["value"]) == ("/materials/1", "unobtainium")
    assert "unobtainium" in finding["message"]
    (remedy,) = finding["remedies"]
    assert (remedy["pointer"], remedy["one_of"]) == ("/materials/1", STOCKED)
    assert {name for name, _ in rows_of(answer)} == {"polycarbonate"}
    # A row is accepted, yet not all was compared that was asked for: a person must look.
    assert answer["best"] is not None
    assert answer["decision"] == "review"
    for name in remedy["one_of"]:
        assert compared(service, example(), materials=["polycarbonate", name])["findings"] == []


def test_where_no_material_is_known_the_order_is_checked_by_itself(service: TestClient) -> None:
    order = example(lens__blank_diameter_mm=40)
    answer = compared(service, order, materials=["unobtainium"])
    assert (answer["rows"], answer["best"]) == ([], None)
    alone = service.post(CHECK, content=json.dumps(order), headers=JSON).json()
    codes = [one["code"] for one in answer["findings"]]
    assert sorted(codes) == sorted(["compare-material-not-known", *(one["code"] for one in alone["findings"])])
    assert answer["decision"] == alone["decision"] == "reject"


def test_beyond_the_bound_rows_are_left_out_and_that_is_said(service: TestClient) -> None:
    diameters = [60.0 + step for step in range(20)]
    stock = [{"material": name, "diameters_mm": diameters} for name in materials()]
    answer = compared(service, example(profile__stock=stock))
    assert len(answer["rows"]) == MAX_COMPARED_ROWS == 200
    (finding,) = answer["findings"]
    assert (finding["code"], finding["severity"]) == ("compare-rows-left-out", "review")
    assert (finding["value"], finding["limit"]) == (20 * len(materials()), 200)
    # Those at the end of the list are left out, whole materials first.
    assert {name for name, _ in rows_of(answer)} == set(list(materials())[:10])
    ten = list(materials())[:10]
    assert compared(service, example(profile__stock=stock), materials=ten)["findings"] == []


# What stands in a row.


def round_order(power: float, **changes: object) -> Document:
    """Round lenses of 50 mm with the pupil in the middle: everything about them can be worked out by hand."""
    frame = {"a_mm": 50, "b_mm": 50, "dbl_mm": 16, "trace": {"right": {"radii_mm": [25.0] * 720}}}
    return example(
        prescription=sphere(power),
        pd_mm={"right": 33, "left": 33},
        frame=frame,
        fitting_height_mm={"right": 25, "left": 25},
        **changes,
    )


def sag(power: float, index: float, height: float) -> float:
    """By Pythagoras, from the radius (n - 1) / F."""
    radius = 1000 * (index - 1) / power
    return radius - math.sqrt(radius * radius - height * height)


def cap_volume(depth: float, height: float) -> float:
    """The textbook cap of a sphere."""
    return math.pi * depth * (3 * height * height + depth * depth) / 6


@pytest.mark.parametrize("power", [-4.0, -7.5])
@pytest.mark.parametrize("name", STOCKED)
def test_a_round_minus_lens_is_as_thick_and_heavy_as_reckoned_by_hand(
    service: TestClient, name: str, power: float
) -> None:
    centre, front = 2.0, 3.0
    order = round_order(power, lens__front_power_d=front, lens__centre_thickness_mm=centre)
    for row in compared(service, order, materials=[name])["rows"]:
        index, density = materials()[name].index_d, materials()[name].density_g_cm3
        # Back vertex power: F' = F1 / (1 - (t/n) F1) + F2 (handbook, formulas 6).
        back = power - front / (1 - centre / 1000 / index * front)
        front_sag, back_sag = sag(front, index, 25.0), sag(-back, index, 25.0)
        edge = centre - front_sag + back_sag
        volume = math.pi * 25**2 * edge + cap_volume(front_sag, 25.0) - cap_volume(back_sag, 25.0)
        for eye in ("right", "left"):
            lens = row[eye]
            assert lens["front_power_d"] == front
            assert lens["centre_mm"] == centre
            assert lens["thickest_edge_mm"] == pytest.approx(edge, abs=2e-4)
            assert lens["thinnest_edge_mm"] == pytest.approx(edge, abs=2e-4)
            # The outline is a polygon of 720 corners: by 1 in 79,000 smaller than the circle.
            assert lens["weight_g"] == pytest.approx(volume * density / 1000, rel=1e-4)
            # A round lens about the pupil needs its own diameter and the allowance of 2 mm.
            assert lens["margin_mm"] == pytest.approx(row["blank_mm"] - 52.0, abs=1e-3)
        assert row["pair"]["centre_mm"] == centre
        assert row["pair"]["thickest_edge_mm"] == pytest.approx(edge, abs=2e-4)
        assert row["pair"]["weight_g"] == pytest.approx(2 * volume * density / 1000, rel=1e-4)
        assert row["pair"]["price"] is None


def test_fringes_are_prism_over_abbe_number_fifteen_millimetres_out(service: TestClient) -> None:
    # Handbook, formulas 9, from memory there: prism / V, noticed above about 0.1. 15 mm out, F dioptres make 1.5 F.
    expected = {
        "hard-resin-1.50": (1.5 * 3.875 / 58, True),
        "crown-glass": (1.5 * 3.875 / 59, False),
        "thiourethane-1.60": (1.5 * 3.875 / 41, True),
        "polycarbonate": (1.5 * 3.875 / 30, True),
    }
    order = example(prescription=sphere(-1.0, -3.875))
    for row in compared(service, order, materials=list(expected))["rows"]:
        name = row["material"]["id"]
        amount, over = expected[name]
        assert row["left"]["chromatic_pd"] == pytest.approx(amount, abs=6e-5)
        assert row["right"]["chromatic_pd"] == pytest.approx(1.5 / materials()[name].abbe, abs=6e-5)
        assert row["colour_fringes"] is over


@pytest.mark.parametrize(
    ("profile", "over"),
    [({}, False), ({"noticed_pd": 0.0999}, True), ({"distance_mm": 15.1}, True), ({"distance_mm": 14.9}, False)],
)
def test_fringes_at_the_limit_are_not_beyond_it_and_the_limit_is_the_profiles(
    service: TestClient, profile: Document, over: bool
) -> None:
    # 15 mm out -2.00 D have 3 prism dioptres, and polycarbonate has an Abbe number of 30: 0.1 exactly.
    answer = compared(service, example(prescription=sphere(-2.0), profile={"chromatic": profile}))
    rows = [row for row in answer["rows"] if row["material"]["id"] == "polycarbonate"]
    assert [row["colour_fringes"] for row in rows] == [over] * 3


def test_a_cylinder_fringes_by_its_stronger_meridian(service: TestClient) -> None:
    plus = {"sphere": 1.0, "cylinder": -4.0, "axis": 30}
    answer = compared(service, example(prescription__right=plus), materials=["polycarbonate"])
    assert answer["rows"][0]["right"]["chromatic_pd"] == pytest.approx(1.5 * 3 / 30)


def test_what_shows_behind_the_rim_is_told_where_its_depth_is_known(service: TestClient) -> None:
    # The bevel sits in the middle of the rim, 1 mm behind the front edge: behind it are edge - 1 - half the depth.
    order = example(prescription=sphere(-6.0), frame__rim_depth_mm=3.0)
    for row in compared(service, order)["rows"]:
        for eye in ("right", "left"):
            lens = row[eye]
            assert lens["shows_behind_mm"] == pytest.approx(lens["thickest_edge_mm"] - 1.0 - 1.5, abs=2e-4)
    assert {row["right"]["shows_behind_mm"] for row in compared(service, example())["rows"]} == {None}


@pytest.mark.parametrize(
    ("wearer", "resistant", "others"),
    [
        ({"age_years": 34}, [], []),
        ({"age_years": 10}, [], ["impact-resistant-material-advised"]),
        ({"age_years": 34, "useful_eyes": "left"}, ["one-useful-eye"], None),
    ],
)
def test_impact_resistance_is_advised_to_whom_the_check_advises_it(
    service: TestClient, wearer: Document, resistant: list[str], others: list[str] | None
) -> None:
    for row in compared(service, example(wearer=wearer))["rows"]:
        advice = set(row["impact_advice"])
        if row["material"]["impact_resistant"]:
            assert advice == set(resistant)
        else:
            assert advice == ({"one-useful-eye", "impact-resistant-material-advised"} if others is None else {*others})


def test_prices_come_from_the_list_for_both_lenses(service: TestClient) -> None:
    order = with_blanks(
        ("a", "polycarbonate", 70.0, 8.25), ("b", "polycarbonate", 75.0, None), ("c", "thiourethane-1.67", 70.0, 5.0)
    )
    answer = compared(service, order, materials=["polycarbonate", "thiourethane-1.67", "hard-resin-1.50"])
    prices = {(row["material"]["id"], row["blank_mm"]): row["pair"]["price"] for row in answer["rows"]}
    assert prices[("polycarbonate", 70.0)] == 16.5
    assert prices[("polycarbonate", 75.0)] is None
    assert prices[("thiourethane-1.67", 70.0)] == 10.0
    assert prices[("hard-resin-1.50", 70.0)] is None


# In which order.


def test_sorted_by_price_the_cheapest_goes_first_and_what_has_none_last(service: TestClient) -> None:
    order = with_blanks(
        ("a", "polycarbonate", 70.0, 8.25), ("b", "polycarbonate", 75.0, None), ("c", "thiourethane-1.67", 70.0, 5.0)
    )
    answer = compared(
        service, order, materials=["hard-resin-1.50", "polycarbonate", "thiourethane-1.67"], sort_by="price"
    )
    assert rows_of(answer)[:2] == [("thiourethane-1.67", 70.0), ("polycarbonate", 70.0)]
    # Without a price by weight: polycarbonate is the lighter; of blanks that weigh alike those go first that are sure to do.
    assert rows_of(answer)[2:] == [
        ("polycarbonate", 75.0),
        *(("hard-resin-1.50", blank) for blank in (70.0, 75.0, 65.0)),
    ]


def test_of_two_materials_with_one_centre_the_lighter_goes_first(service: TestClient) -> None:
    order = round_order(-4.0, lens__centre_thickness_mm=2.0)
    answer = compared(service, order, sort_by="centre")
    weights = [row["pair"]["weight_g"] for row in answer["rows"]]
    assert weights == sorted(weights)
    assert len(set(weights)) == len(STOCKED)
    assert [blank for _, blank in rows_of(answer)] == [65.0, 70.0, 75.0] * len(STOCKED)


def test_a_minus_lens_of_higher_index_has_the_thinner_edge(service: TestClient) -> None:
    order = round_order(-5.0, lens__centre_thickness_mm=2.0)
    answer = compared(service, order)
    indices = [row["material"]["index_d"] for row in answer["rows"]]
    assert indices == sorted(indices, reverse=True)


def test_lenses_that_run_out_go_last_and_say_so_in_words(service: TestClient) -> None:
    order = example(prescription=sphere(3.5, 3.75), lens__centre_thickness_mm=3.9)
    answer = compared(service, order)
    excluded = [row["excluded"] for row in answer["rows"]]
    assert [one is None for one in excluded] == [True] * 8 + [False] * 7
    # The higher indices; and of two others the blank of 65 mm, which ends before the place that would run out.
    made = {(row["material"]["id"], row["blank_mm"]) for row in answer["rows"][:8]}
    higher = {(name, blank) for name in ("thiourethane-1.67", "episulphide-1.74") for blank in (65.0, 70.0, 75.0)}
    assert made == higher | {("polycarbonate", 65.0), ("thiourethane-1.60", 65.0)}
    for row in answer["rows"][8:]:
        assert row["decision"] == "reject"
        assert row["codes"][0] == "lens-runs-out"
        assert "the surfaces meet before the edge" in row["excluded"]
        assert row["pair"]["weight_g"] is None
    assert (answer["decision"], answer["best"]) == ("review", None)


def test_a_lens_whose_surface_is_too_steep_is_excluded_with_the_checks_words(service: TestClient) -> None:
    order = example(prescription=sphere(-2.0), lens__front_power_d=18.0)
    answer = compared(service, order)
    steep = [row for row in answer["rows"] if "lens-body-impossible" in row["codes"]]
    assert steep
    assert len(steep) < len(answer["rows"])
    for row in steep:
        assert "too steep" in row["excluded"]
        assert (row["right"]["thickest_edge_mm"], row["pair"]["weight_g"]) == (None, None)
    places = [row["excluded"] is None for row in answer["rows"]]
    assert places == sorted(places, reverse=True)


def test_best_is_the_first_row_that_is_accepted(service: TestClient) -> None:
    answer = compared(service, example())
    decisions = [row["decision"] for row in answer["rows"]]
    assert decisions[:3] == ["accept", "accept", "review"]
    assert (answer["best"], answer["decision"]) == (0, "accept")


def test_of_blanks_that_make_the_same_lens_those_that_are_sure_to_do_go_first(service: TestClient) -> None:
    first, second, third = compared(service, example())["rows"][:3]
    assert first["pair"] == second["pair"] == third["pair"]
    # The 65 mm blank may be too small for this frame.
    assert [row["blank_mm"] for row in (first, second, third)] == [70, 75, 65]


def test_a_thinner_lens_that_a_person_must_look_at_still_goes_first(service: TestClient) -> None:
    rows = [row for row in compared(service, example())["rows"] if row["excluded"] is None]
    edges = [row["pair"]["thickest_edge_mm"] for row in rows]
    assert edges == sorted(edges)
    assert [row["decision"] for row in rows] != sorted(row["decision"] for row in rows)


# What is said of the whole.


@pytest.mark.parametrize(
    ("prescription", "pointer"),
    [
        ({"written": "R ???"}, "/order/prescription/written"),
        ({"fhir": {"resourceType": "Patient"}}, "/order/prescription/fhir"),
    ],
)
def test_a_prescription_that_is_not_understood_is_answered_without_rows(
    service: TestClient, prescription: Document, pointer: str
) -> None:
    order = example(prescription=prescription)
    answer = compared(service, order)
    alone = service.post(CHECK, content=json.dumps(order), headers=JSON).json()
    assert (answer["rows"], answer["best"], answer["decision"]) == ([], None, "reject")
    assert [one["code"] for one in answer["findings"]] == [one["code"] for one in alone["findings"]]
    assert [one["message"] for one in answer["findings"]] == [one["message"] for one in alone["findings"]]
    assert {one["pointer"].startswith(pointer) for one in answer["findings"]} == {True}


def test_overrides_that_contradict_themselves_are_answered_without_rows(service: TestClient) -> None:
    answer = compared(service, example(profile={"frame": {"a_least_mm": 90}}))
    assert (answer["rows"], answer["decision"]) == ([], "reject")
    assert [(one["code"], one["pointer"]) for one in answer["findings"]] == [
        ("profile-contradicts-itself", "/order/profile")
    ]


def test_what_the_order_left_out_is_assumed_once_for_all_rows(service: TestClient) -> None:
    order = example(frame__ed_mm=LEFT_OUT, lens__material=LEFT_OUT, lens__blank_diameter_mm=LEFT_OUT, wearer=LEFT_OUT)
    pointers = [one["pointer"] for one in compared(service, order, sort_by="weight")["assumptions"]]
    assert {"/order/frame/ed_mm", "/order/wearer/age_years", "/materials"} <= set(pointers)
    # Every row names its material and its blank: nothing of the kind is assumed.
    assert not {"/order/lens/material", "/order/lens/blank_diameter_mm", "/sort_by"} & set(pointers)
    assert len(pointers) == len(set(pointers))


def test_the_answer_names_its_order_and_its_engine_and_bears_the_cautions(service: TestClient) -> None:
    answer = compared(service, example())
    alone = service.post(CHECK, content=json.dumps(example()), headers=JSON).json()
    for part in ("reference", "cautions", "engine"):
        assert answer[part] == alone[part]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"materials": []}, "/materials"),
        ({"materials": [""]}, "/materials/0"),
        ({"materials": ["x" * 41]}, "/materials/0"),
        ({"materials": ["m"] * (MAX_COMPARED_MATERIALS + 1)}, "/materials"),
        ({"sort_by": "looks"}, "/sort_by"),
        ({"order": LEFT_OUT}, "/order"),
        ({"blank": 70}, "/blank"),
    ],
)
def test_what_the_contract_forbids_is_refused_at_its_place(service: TestClient, change: Document, pointer: str) -> None:
    document = {
        name: value for name, value in {**copy.deepcopy(EXAMPLE_COMPARISON), **change}.items() if value is not LEFT_OUT
    }
    response = send(service, document)
    assert response.status_code == 422
    problem = problem_of(response, "unreadable-request")
    assert [fault["pointer"] for fault in problem["errors"]] == [pointer]


def test_the_order_within_is_read_as_strictly_as_by_itself(service: TestClient) -> None:
    response = send(service, {"order": example(frame__a_mm="54")})
    assert response.status_code == 422
    assert [fault["pointer"] for fault in problem_of(response, "unreadable-request")["errors"]] == ["/order/frame/a_mm"]
