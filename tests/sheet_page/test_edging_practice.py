"""Usual edges: every material has its row, every row says that it is custom, and what is dangerous is said."""

import pytest

from optics_core.edging import edging_practice
from optics_core.errors import DomainError
from optics_core.materials import materials
from optics_core.sources import table

RIMS = ("full", "grooved", "drilled")
GLASS = {"crown-glass", "glass-1.60", "glass-1.70", "glass-1.80", "glass-1.90"}


def test_every_material_stands_in_one_family() -> None:
    listed = [material for row in table("edging.toml")["family"] for material in row["materials"]]
    assert sorted(listed) == sorted(materials())


@pytest.mark.parametrize("rim", RIMS)
@pytest.mark.parametrize("material", list(materials()))
def test_every_row_is_marked_as_custom_and_is_short(material: str, rim: str) -> None:
    found = edging_practice(material=material, rim=rim)
    assert (
        (found.rim.source, found.rim.mark)
        == (found.family.source, found.family.mark)
        == ("common-practice", "practice")
    )
    words = [found.rim.edge, found.rim.safety_bevel, found.rim.finish, found.family.cutting, found.family.drilling]
    assert all(text.endswith(".") and 15 < len(text) < 130 for text in words)


def test_the_rim_settles_the_edge() -> None:
    edges = [edging_practice(material="polycarbonate", rim=rim).rim.edge for rim in RIMS]
    assert [next(word for word in ("bevel", "groove", "holes") if word in edge) for edge in edges] == [
        "bevel",
        "groove",
        "holes",
    ]


def test_glass_is_never_ground_dry_and_polycarbonate_is_roughed_dry() -> None:
    for material in materials():
        family = edging_practice(material=material, rim="full").family
        assert family.is_glass == (material in GLASS)
        assert ("never dry" in family.cutting) == family.is_glass
        assert ("rough dry" in family.cutting) == (material == "polycarbonate")
        assert ("Never by hand" in family.drilling) == family.is_glass


@pytest.mark.parametrize(
    ("argument", "given"),
    [("material", "amber"), ("material", None), ("material", []), ("rim", "half"), ("rim", None), ("rim", {})],
)
def test_what_is_not_in_the_table_is_refused_by_name(argument: str, given: object) -> None:
    asked: dict[str, object] = {"material": "polycarbonate", "rim": "full", argument: given}
    with pytest.raises(DomainError) as refusal:
        edging_practice(**asked)  # type: ignore[arg-type]
    assert refusal.value.argument == argument
