"""The materials are the fourteen of the collected table, with its ranges; single values lie within them."""

import pytest

from optics_core.materials import materials
from optics_core.sources import sources

# id: index at the d line, Abbe number, density in g/cm3, UV cut-off in nm, each as low and high. Collected from
# Jalie's tables, Wilson/BHVI 2012, a maker's comparison table of 2012 and Eyecare Business 2011; mostly memory.
COLLECTED = {
    "hard-resin-1.50": ((1.498, 1.500), (58, 59), (1.31, 1.32), (350, 355)),
    "urethane-1.53": ((1.530, 1.532), (43, 46), (1.10, 1.11), (380, 395)),
    "resin-1.56": ((1.553, 1.563), (34, 42), (1.17, 1.28), (370, 390)),
    "polycarbonate": ((1.585, 1.586), (28, 30), (1.20, 1.20), (380, 385)),
    "thiourethane-1.60": ((1.592, 1.600), (36, 42), (1.30, 1.34), (380, 400)),
    "acrylic-1.60": (None, (32, 32), (1.30, 1.36), (380, 380)),  # no index at the d line was found
    "thiourethane-1.67": ((1.660, 1.665), (31, 32), (1.35, 1.37), (375, 395)),
    "resin-1.70": ((1.694, 1.700), (36, 36), (1.41, 1.41), (380, 380)),
    "episulphide-1.74": ((1.732, 1.738), (31, 33), (1.46, 1.47), (395, 400)),
    "crown-glass": ((1.523, 1.523), (58, 60), (2.50, 2.60), (320, 320)),
    "glass-1.60": ((1.600, 1.600), (41, 42), (2.62, 2.67), (334, 334)),
    "glass-1.70": ((1.700, 1.706), (30, 42), (2.93, 3.21), (330, 340)),
    "glass-1.80": ((1.800, 1.802), (25, 35), (3.37, 3.66), (332, 340)),
    "glass-1.90": ((1.885, 1.893), (30, 31), (3.99, 4.02), (340, 340)),
}
# Index at the e line as low and high.
COLLECTED_E = {
    "hard-resin-1.50": (1.500, 1.502), "urethane-1.53": (1.535, 1.535), "resin-1.56": (1.56, 1.56),
    "polycarbonate": (1.589, 1.590), "thiourethane-1.60": (1.600, 1.600), "acrylic-1.60": (1.60, 1.60),
    "thiourethane-1.67": (1.67, 1.67), "resin-1.70": (1.70, 1.70), "episulphide-1.74": (1.74, 1.74),
    "crown-glass": (1.525, 1.525), "glass-1.60": (1.604, 1.604), "glass-1.70": (1.705, 1.71),
    "glass-1.80": (1.807, 1.807), "glass-1.90": (1.893, 1.90),
}  # fmt: skip


def test_the_materials_are_the_collected_ones_in_their_order() -> None:
    assert list(materials()) == list(COLLECTED)
    assert all(material.id == identity for identity, material in materials().items())


@pytest.mark.parametrize("identity", COLLECTED)
def test_the_ranges_are_the_collected_ones(identity: str) -> None:
    material = materials()[identity]
    index, abbe, density, uv = COLLECTED[identity]
    if index is not None:
        assert (material.index_d_low, material.index_d_high) == index
    assert (material.abbe_low, material.abbe_high) == abbe
    assert (material.density_low_g_cm3, material.density_high_g_cm3) == density
    assert (material.uv_cutoff_nm_low, material.uv_cutoff_nm_high) == uv
    low, high = COLLECTED_E[identity]
    assert low <= material.index_e <= high


@pytest.mark.parametrize("identity", COLLECTED)
def test_a_single_value_lies_within_its_range(identity: str) -> None:
    material = materials()[identity]
    assert material.index_d_low <= material.index_d <= material.index_d_high
    assert material.abbe_low <= material.abbe <= material.abbe_high
    assert material.density_low_g_cm3 <= material.density_g_cm3 <= material.density_high_g_cm3
    assert material.index_d <= material.index_e < material.index_d + 0.01


def test_where_no_figure_was_found_the_row_says_so() -> None:
    assert "estimated" in materials()["acrylic-1.60"].remark


def test_every_material_names_a_known_source_and_how_it_is_known() -> None:
    for material in materials().values():
        assert material.source in sources()
        assert material.mark in ("read", "memory")
        assert material.mark == "read" or "memory" in material.remark
