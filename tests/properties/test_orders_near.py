"""Lenses as worn, near work, reading parts and prescribed prism, over orders of every kind that the schema allows."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from order_strategies import EYES, Document, answer_to, changed, mirrored, orders, steady, transposed, wild_orders
from test_orders_answers import (
    FIGURE,
    TEMPLATES,
    WRITER,
    assert_known,
    assert_well_told,
    figures_in,
    is_number,
    leaves,
    plain,
    resolves,
    says,
    shipped,
)

MEMBERS: dict[str, st.SearchStrategy[float]] = {
    "/as_worn/pantoscopic_deg": st.floats(-10, 30),
    "/as_worn/face_form_deg": st.floats(-10, 40),
    "/as_worn/working_distance_mm": st.floats(150, 2000),
    "/pd_mm/near/right": st.one_of(st.floats(1, 200), st.floats(25, 35)),
    "/pd_mm/near/left": st.one_of(st.floats(1, 200), st.floats(25, 35)),
    "/pd_mm/near/both": st.one_of(st.floats(1, 200), st.floats(50, 70)),
    "/lens/segment/height_mm/right": st.one_of(st.floats(0, 120), st.floats(10, 25)),
    "/lens/segment/height_mm/left": st.one_of(st.floats(0, 120), st.floats(10, 25)),
    "/lens/segment/blank_inset_mm": st.floats(-30, 30),
    "/lens/segment/blank_drop_mm": st.floats(-30, 30),
    "/lens/segment/top_to_centre_mm": st.floats(0, 40),
    "/lens/progressive/corridor_mm": st.floats(0, 30),
    "/lens/progressive/least_height_mm": st.floats(5, 40),
    "/lens/progressive/near_zone_mm": st.floats(0, 20),
}
OF_THESE = ("/as_worn", "/pd_mm/near", "/lens/segment", "/lens/progressive", "/lens/use")


@st.composite
def worked_orders(draw: st.DrawFn, base: st.SearchStrategy[Document]) -> Document:
    """An order with some of these members, an addition more often than not."""
    order = draw(base)
    if draw(st.booleans()):
        add = draw(st.sampled_from([0.75, 2.0, 2.5]))
        for eye in EYES:
            order = changed(order, f"/prescription/{eye}/add", add)
    for pointer in draw(st.lists(st.sampled_from(sorted(MEMBERS)), max_size=7, unique=True)):
        order = changed(order, pointer, draw(MEMBERS[pointer]))
    return order


@steady(120)
@given(worked_orders(wild_orders()))
def test_every_figure_is_finite_whatever_is_worn_and_read(order: Document) -> None:
    figures = [leaf for leaf in leaves(WRITER.dump_python(answer_to(order))) if isinstance(leaf, float)]
    assert all(math.isfinite(figure) for figure in figures)


@steady(120)
@given(worked_orders(st.one_of(orders(), wild_orders())))
def test_every_pointer_is_known_and_nothing_is_assumed_that_was_given(order: Document) -> None:
    answer = answer_to(order)
    for finding in answer.findings:
        assert_known(finding.pointer, order, finding)
        assert_well_told(finding)
    for taken in answer.assumptions:
        assert_known(taken.pointer, order, taken)
        assert not resolves(taken.pointer, order), taken


@steady(120)
@given(worked_orders(orders()))
def test_every_figure_of_these_findings_stands_in_answer_order_or_profile(order: Document) -> None:
    answer = answer_to(order)
    known = [float(one) for one in leaves([plain(answer), order, shipped().profile.model_dump()]) if is_number(one)]
    for finding in answer.findings:
        if finding.pointer.startswith(OF_THESE):
            for written in FIGURE.findall(f"{finding.message} {finding.customer_message}"):
                figures = [*known, *figures_in(TEMPLATES[finding.code])]
                # An axis of less than half a degree is written 180.
                assert any(says(written, figure) for figure in figures) or written == "180", (finding, written)


@steady(120)
@given(worked_orders(orders()))
def test_naming_what_was_assumed_for_near_work_changes_no_answer(order: Document) -> None:
    answer = answer_to(order)
    for taken in answer.assumptions:
        if taken.pointer.startswith(("/as_worn", "/lens/progressive")):
            named = answer_to(changed(order, taken.pointer, taken.value))
            assert (named.fit, named.prism, named.as_worn, named.near) == (
                answer.fit,
                answer.prism,
                answer.as_worn,
                answer.near,
            )


@steady(120)
@given(worked_orders(orders()))
def test_a_mirrored_order_is_worn_and_read_mirrored(order: Document) -> None:
    one, other = plain(answer_to(order)), plain(answer_to(_mirrored(order)))
    for part in ("as_worn", "near", "magnification"):
        assert (one[part] is None) == (other[part] is None)
        if one[part] is not None:
            assert_close(_heights(one[part]["right"]), _heights(other[part]["left"]))
    one_prism, other_prism = one["prism"], other["prism"]
    if one_prism is not None and one_prism["prescribed"] is not None:
        assert_close(one_prism["prescribed"]["right"], other_prism["prescribed"]["left"])
    assert sorted(found["code"] for found in one["findings"]) == sorted(found["code"] for found in other["findings"])


@steady(120)
@given(worked_orders(orders()))
def test_the_other_cylinder_form_is_worn_and_read_alike(order: Document) -> None:
    prescription = {**order["prescription"], **{eye: transposed(order["prescription"][eye]) for eye in EYES}}
    one, other = plain(answer_to(order)), plain(answer_to({**order, "prescription": prescription}))
    for part in ("near", "as_worn"):
        for eye in EYES:
            if one[part] is not None and one[part][eye] is not None:
                first, second = one[part][eye], other[part][eye]
                for name in ("change", "pd", "inset_mm", "pair_minimum_blank_mm", "segment", "progressive"):
                    assert_close(first.get(name), second.get(name))
    assert_close(one["fit"], other["fit"])


def _mirrored(order: Document) -> Document:
    result = mirrored(order)
    heights = result.get("lens", {}).get("segment", {}).get("height_mm")
    if heights is not None:
        result["lens"]["segment"]["height_mm"] = {
            ("left" if name == "right" else "right"): value for name, value in heights.items()
        }
    return result


def _heights(node: Any) -> Any:
    """Without axes and lines, which turn over in a mirror; their powers stay."""
    if isinstance(node, dict):
        return {name: _heights(value) for name, value in node.items() if name not in ("axis", "notation")}
    return node


def assert_close(one: Any, other: Any) -> None:
    if isinstance(one, dict):
        assert one.keys() == other.keys()
        for name, value in one.items():
            assert_close(value, other[name])
    elif isinstance(one, float):
        assert one == pytest.approx(other, rel=1e-6, abs=2e-4)
    else:
        assert one == other
