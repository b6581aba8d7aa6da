"""The words of written prescriptions, by what they mean. Anything that is not here is reported, never passed over."""

from typing import Final, Literal

RIGHT: Final = frozenset({"r", "re", "od", "right", "rt"})
LEFT: Final = frozenset({"l", "le", "os", "left", "lt"})
BOTH: Final = frozenset({"ou", "both"})
EYES: Final = RIGHT | LEFT | BOTH


def side_of(label: str) -> Literal["right", "left", "both"]:
    """Which eye a label of `EYES` names."""
    if label in BOTH:
        return "both"
    return "right" if label in RIGHT else "left"


SPHERE: Final = frozenset({"sph", "sphere", "s"})
NO_CYLINDER: Final = frozenset({"ds", "dsph", "sph", "sphere", "spheric", "spherical", "s"})
CYLINDER: Final = frozenset({"cyl", "cylinder", "c", "dc", "dcyl"})
AXIS: Final = frozenset({"x", "@", "ax", "axis", "*"})
PLANO: Final = frozenset({"plano", "pl", "plan", "pln"})
BALANCE: Final = frozenset({"bal", "balance"})
SAME: Final = frozenset({"same", "ditto", "idem"})

ADD: Final = frozenset({"add", "addition", "adds", "ad"})
INTERMEDIATE: Final = frozenset({"int", "inter", "intermediate"})
NEAR: Final = frozenset({"near", "reading", "nv"})
FAR: Final = frozenset({"distance", "dist", "far", "dv"})

PRISM: Final = frozenset({"prism", "prisms", "pr"})
PRISM_UNIT: Final = frozenset({"δ", "pd", "prism", "dioptre", "dioptres", "diopter", "diopters"})
BASE: Final = frozenset({"base"})
DIRECTIONS: Final[dict[str, Literal["in", "out", "up", "down"]]] = {
    "in": "in",
    "out": "out",
    "up": "up",
    "down": "down",
    "dn": "down",
}
BASES: Final[dict[str, Literal["in", "out", "up", "down"]]] = {"bi": "in", "bo": "out", "bu": "up", "bd": "down"}

PUPILLARY: Final = frozenset({"pd", "ipd", "pupillary"})
FAR_PUPILLARY: Final = frozenset({"dpd"})
NEAR_PUPILLARY: Final = frozenset({"npd"})
VERTEX: Final = frozenset({"vd", "bvd", "vertex", "back"})
ACUITY: Final = frozenset({"va", "vision", "acuity", "bcva", "ucva", "vis"})
DATE: Final = frozenset({"date", "dated", "issued"})
CONTACT: Final = frozenset(
    {"bc", "bcr", "boz", "bozr", "dia", "diam", "diameter", "contact", "contacts", "cl", "cls", "curve"}
)

MINUS: Final = frozenset({"minus"})
PLUS: Final = frozenset({"plus"})
POWER_UNIT: Final = frozenset({"d", "dpt", "dioptre", "dioptres", "diopter", "diopters"})
DEGREE: Final = frozenset({"°", "deg", "degs", "degree", "degrees"})
MILLIMETRE: Final = frozenset({"mm"})

# Words that may stand anywhere and change nothing.
WITHOUT_MEANING: Final = frozenset(
    {"eye", "eyes", "rx", "prescription", "spectacle", "spectacles", "glasses", "and", "lens"}
)

HEADER: Final = {
    **dict.fromkeys(("sph", "sphere"), "sphere"),
    **dict.fromkeys(("cyl", "cylinder"), "cylinder"),
    **dict.fromkeys(("axis", "ax"), "axis"),
    **dict.fromkeys(("add", "addition"), "add"),
    **dict.fromkeys(("va", "vision", "acuity"), "acuity"),
    **dict.fromkeys(("prism",), "prism"),
    **dict.fromkeys(("pd",), "pd"),
    **dict.fromkeys(("eye", "eyes", "rx"), "eye"),
}
