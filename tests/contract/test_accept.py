"""Which type is answered, by the Accept header (RFC 9110, 12.4.2 and 12.5.1)."""

import pytest

from service.web.accept import preferred_type
from service.web.problems import Problem

SVG, PDF = "image/svg+xml", "application/pdf"
OFFERED = (SVG, PDF)


@pytest.mark.parametrize(
    "accept", ["", "  ", "*/*", "image/*, application/*", f"{PDF}, {SVG}", f"{SVG};q=1, {PDF};q=1.0"]
)
def test_of_types_liked_alike_the_one_offered_first_is_sent(accept: str) -> None:
    assert preferred_type(accept, OFFERED) == SVG
    assert preferred_type(accept, OFFERED[::-1]) == PDF


@pytest.mark.parametrize(
    ("accept", "chosen"),
    [
        (PDF, PDF),
        (SVG, SVG),
        (f"{SVG};q=0.4, {PDF};q=0.5", PDF),
        (f"{SVG};q=0.5, {PDF};q=0.499", SVG),
        (f"{PDF};q=0.001", PDF),
        (f"text/html, {PDF};q=0.9, */*;q=0.8", PDF),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,*/*;q=0.8", SVG),
        ("image/*", SVG),
        ("application/*", PDF),
        ("image/*;q=0.1, application/*;q=0.2", PDF),
        # The most particular range that a type falls under counts, whatever the others say.
        (f"image/*, {SVG};q=0.1, {PDF};q=0.2", PDF),
        (f"{SVG};q=0, */*", PDF),
        ("application/*;q=0, */*;q=0.1", SVG),
        (f"*/*, {PDF};q=0.5", SVG),
        # Names and the letter q are the same in either case; blanks beside the marks mean nothing.
        ("APPLICATION/PDF", PDF),
        (f"{SVG};Q=0.1 ,\t{PDF} ; q=0.2", PDF),
        # Parameters of a type and what follows the weight are passed over.
        (f"{PDF};version=1.7", PDF),
        (f"{SVG};charset=utf-8;q=0.3, {PDF};q=0.2;level=1", SVG),
        # Empty elements of the list are passed over (RFC 9110, 5.6.1.2).
        (f", ,{PDF},", PDF),
        # Of two words on one type the kinder one counts.
        (f"{PDF};q=0.1, {SVG};q=0.5, {PDF};q=0.9", PDF),
    ],
)
def test_the_type_with_the_greatest_weight_is_sent(accept: str, chosen: str) -> None:
    assert preferred_type(accept, OFFERED) == chosen


@pytest.mark.parametrize(
    "accept",
    [
        "application/json",
        "text/html",
        "application/problem+json",
        "*/*;q=0",
        f"{SVG};q=0, {PDF};q=0.000",
        "image/png, image/*;q=0, text/*",
        "garbage",
        "image",
        "/",
        ";q=1",
        "*",
        "*/svg+xml",
        "image/svg",
        f"{SVG}x",
        f'"{SVG}"',
        "é/è",
        "image/" + "*" * 5000,
    ],
)
def test_a_caller_who_takes_none_of_them_is_told_which_there_are(accept: str) -> None:
    with pytest.raises(Problem) as refused:
        preferred_type(accept, OFFERED)
    assert refused.value.kind.code == "not-acceptable"
    # Nothing of the header is repeated: the sentence is always the same.
    assert refused.value.detail == f"There is {SVG} or {PDF}. Name one of them under Accept, or leave it out."


@pytest.mark.parametrize("weight", ["abc", "-1", "", "0,5", "0.0001", "1e-3", "٣", "nan", "inf", "+1", "0x1", " "])
def test_a_weight_that_cannot_be_read_never_makes_a_type_the_one_liked_best(weight: str) -> None:
    assert preferred_type(f"{SVG};q={weight}, {PDF};q=0.002", OFFERED) == PDF


@pytest.mark.parametrize("weight", ["2", "1.5", "999"])
def test_a_weight_above_one_is_no_more_than_one(weight: str) -> None:
    assert preferred_type(f"{PDF};q={weight}, {SVG};q=1", OFFERED) == SVG


def test_a_long_header_is_read_all_the_same() -> None:
    assert preferred_type(", ".join(["text/html;q=0.5"] * 5000 + [PDF]), OFFERED) == PDF
