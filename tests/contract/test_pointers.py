"""A pointer to a fault holds in the document that was received."""

from typing import Annotated, Any, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Discriminator, Tag, TypeAdapter, ValidationError

from service.web.pointers import pointer_of


class Strict(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid")


class Eye(Strict):
    sphere: float
    base: Literal["in", "out"] | float = "in"


class Structured(Strict):
    right: Eye
    left: Eye


class Written(Strict):
    written: str


def kind_of(value: Any) -> str:
    return "written" if isinstance(value, dict) and "written" in value else "structured"


class Order(Strict):
    prescription: Annotated[
        Annotated[Structured, Tag("structured")] | Annotated[Written, Tag("written")], Discriminator(kind_of)
    ]
    plain: Eye | Written | None = None
    by_name: dict[str, float] = {}
    eyes: list[list[Eye]] = []


def pointers(document: object) -> set[str]:
    with pytest.raises(ValidationError) as caught:
        Order.model_validate(document)
    return {
        pointer_of(error["loc"], document, missing=error["type"] == "missing")
        for error in caught.value.errors(include_url=False)
    }


EYE = {"sphere": 1.0}
GOOD = {"right": EYE, "left": EYE}


def test_a_tag_below_a_union_is_passed_over() -> None:
    assert pointers({"prescription": {"right": {"sphere": "1"}, "left": EYE}}) == {"/prescription/right/sphere"}


def test_a_tag_that_is_spelt_like_a_member_is_passed_over_too() -> None:
    assert pointers({"prescription": {"written": 5}}) == {"/prescription/written"}


def test_class_names_and_function_names_are_passed_over() -> None:
    found = pointers({"prescription": GOOD, "plain": {"sphere": "x", "written": 3}})
    assert found == {"/plain/sphere", "/plain/written"}


def test_branches_of_plain_values_end_at_the_value() -> None:
    document = {"prescription": {"right": {"sphere": 1.0, "base": "up"}, "left": EYE}}
    assert pointers(document) == {"/prescription/right/base"}


def test_a_missing_member_is_pointed_at_in_its_parent() -> None:
    assert pointers({"prescription": {"right": {}, "left": EYE}}) == {"/prescription/right/sphere"}
    assert pointers({}) == {"/prescription"}
    assert pointers({"prescription": GOOD, "plain": {}}) == {"/plain/sphere", "/plain/written"}


def test_names_that_look_like_numbers_or_need_escapes_are_members() -> None:
    document = {"prescription": GOOD, "by_name": {"0": "x", "a/b": "x", "~": "x", "": "x"}}
    assert pointers(document) == {"/by_name/0", "/by_name/a~1b", "/by_name/~0", "/by_name/"}


def test_items_of_lists_in_lists_are_counted_from_zero() -> None:
    document = {"prescription": GOOD, "eyes": [[EYE], [EYE, {"sphere": None}, 7]]}
    assert pointers(document) == {"/eyes/1/1/sphere", "/eyes/1/2"}


def test_an_unknown_member_is_pointed_at() -> None:
    assert pointers({"prescription": GOOD, "plain2": 1}) == {"/plain2"}


def test_a_tag_spelt_like_another_member_of_the_same_object_does_not_lead_astray() -> None:
    document = {"eye": {"right": 1, "left": "x"}}
    assert pointer_of(("eye", "right", "left"), document) == "/eye/left"
    assert pointer_of(("eye", "right", "right"), document) == "/eye/right"
    assert pointer_of(("eye", "right", "Left"), document) == "/eye/right"


def test_the_whole_document_has_the_empty_pointer() -> None:
    assert pointer_of((), []) == ""
    assert pointer_of(("Order",), 5) == ""


def resolved(document: Any, pointer: str) -> Any:
    for part in pointer.split("/")[1:]:
        name = part.replace("~1", "/").replace("~0", "~")
        document = document[int(name)] if isinstance(document, list) else document[name]
    return document


NAMES = st.sampled_from(["prescription", "written", "right", "left", "sphere", "base", "plain", "eyes", "by_name", "x"])
DOCUMENTS = st.recursive(
    st.none() | st.floats(allow_nan=False) | st.text(max_size=3) | st.booleans(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=6),
    max_leaves=30,
)


@given(DOCUMENTS)
def test_every_pointer_resolves_to_what_the_model_complained_of(document: object) -> None:
    try:
        TypeAdapter(Order).validate_python(document)
    except ValidationError as caught:
        for error in caught.errors(include_url=False):
            if error["type"] == "missing":
                pointer = pointer_of(error["loc"], document, missing=True, meant=error["input"])
                parent, name = pointer.rsplit("/", 1)
                assert resolved(document, parent) is error["input"]
                assert name not in error["input"]
            else:
                assert resolved(document, pointer_of(error["loc"], document, meant=error["input"])) is error["input"]
