"""The order as a shop sends it."""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Discriminator, Field, Tag

from service.contract.fields import Day, RequestModel, number
from service.contract.reading_part import Progressive, Segment
from service.contract.trace import Trace
from service.limits import (
    MAX_PRISMS_PER_EYE,
    MAX_REFERENCE_CHARACTERS,
    MAX_WRITTEN_CHARACTERS,
)
from service.profile.model import ProfileOverride

LARGEST_BLANK_MM = 120.0
LARGEST_A_MM = 120.0
LARGEST_DBL_MM = 60.0
LARGEST_CENTRE_MM = 40.0

EXAMPLE_ORDER: dict[str, Any] = {
    "reference": "W-1042",
    "prescription": {
        "right": {"sphere": -2.25, "cylinder": -0.75, "axis": 10},
        "left": {"sphere": -2.50, "cylinder": -0.50, "axis": 170},
        "vertex_distance_mm": 13,
        "issued_on": "2026-06-01",
    },
    "pd_mm": {"right": 31.5, "left": 32.0},
    "frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18, "ed_mm": 58, "rim": "full"},
    "fitting_height_mm": {"right": 22, "left": 22},
    "lens": {"material": "polycarbonate", "use": "distance", "blank_diameter_mm": 70},
    "wearer": {"age_years": 34, "useful_eyes": "both"},
    "as_of": "2026-11-25",
}


EXAMPLE_TEXT: dict[str, Any] = {
    "prescription": {"written": "OD -2.25 -0.75 x 010\nOS -2.50 -0.50 x 170\nPD 31.5/32", "issued_on": "2026-06-01"},
    "as_of": "2026-11-25",
}


class PrescribedPrism(RequestModel):
    """One prism component as prescribed."""

    amount: float = number("Amount of the prism.", unit="Δ", ge=0, le=100)
    base: Literal["in", "out", "up", "down"] | Annotated[float, Field(ge=0, le=360)] = Field(
        description="Direction of the base: in, out, up, down, or an angle, counter-clockwise as seen from the "
        "front. Unit: ° where a number. Allowed: 0 to 360.",
        json_schema_extra={"unit": "°"},
    )


class PrescribedEye(RequestModel):
    """What the prescription says for one eye. Figures are taken as written and never altered."""

    sphere: float = number("Sphere; 0 for plano.", unit="D", ge=-1000, le=1000)
    cylinder: float | None = number(
        "Cylinder, in minus or plus form as written; leave out where none is prescribed.",
        unit="D",
        ge=-1000,
        le=1000,
        default=None,
    )
    axis: float | None = number(
        "Axis of the cylinder, standard notation. An axis lies between 1 and 180; anything else is a finding.",
        unit="°",
        ge=-1000,
        le=1000,
        default=None,
    )
    add: float | None = number("Reading addition.", unit="D", ge=-100, le=100, default=None)
    prism: list[PrescribedPrism] = Field(
        default=[],
        max_length=MAX_PRISMS_PER_EYE,
        description=f"Prescribed prism, a component each. Unit: Δ. Allowed: at most {MAX_PRISMS_PER_EYE} components.",
    )


class StructuredPrescription(RequestModel):
    """A prescription whose figures stand in fields of their own."""

    right: PrescribedEye = Field(description="The right eye.")
    left: PrescribedEye = Field(description="The left eye.")
    vertex_distance_mm: float | None = number(
        "Vertex distance at which the eyes were refracted.", unit="mm", ge=0, le=40, default=None
    )
    issued_on: Day | None = Field(
        default=None, description="Day the prescription was issued. Unit: calendar day, YYYY-MM-DD."
    )
    expires_on: Day | None = Field(
        default=None, description="Day the prescription expires, if it names one. Unit: calendar day, YYYY-MM-DD."
    )


class WrittenPrescription(RequestModel):
    """A prescription as text, the way it stands on the paper."""

    written: str = Field(
        min_length=1,
        max_length=MAX_WRITTEN_CHARACTERS,
        description="The text, for instance R -2.25 -0.75 x 10 L -2.50 -0.50 x 170. Unit: characters. Allowed: 1 to "
        f"{MAX_WRITTEN_CHARACTERS} characters.",
    )
    issued_on: Day | None = Field(
        default=None, description="Day the prescription was issued. Unit: calendar day, YYYY-MM-DD."
    )
    expires_on: Day | None = Field(
        default=None, description="Day the prescription expires, if it names one. Unit: calendar day, YYYY-MM-DD."
    )


class FhirPrescription(RequestModel):
    """A prescription as an HL7 FHIR document."""

    fhir: Any = Field(
        description="An HL7 FHIR VisionPrescription (R4, R4B or R5), or a Bundle that holds exactly one. Anything else is "
        "answered with a finding.",
    )


def _prescription_kind(value: object) -> str:
    for kind, model in (("written", WrittenPrescription), ("fhir", FhirPrescription)):
        if kind in value if isinstance(value, dict) else isinstance(value, model):
            return kind
    return "structured"


Prescription = Annotated[
    Annotated[StructuredPrescription, Tag("structured")]
    | Annotated[WrittenPrescription, Tag("written")]
    | Annotated[FhirPrescription, Tag("fhir")],
    Discriminator(_prescription_kind),
]


class NearPupillaryDistance(RequestModel):
    """Pupillary distance for near work."""

    right: float | None = number("Right eye, from the middle of the bridge.", unit="mm", ge=1, le=200, default=None)
    left: float | None = number("Left eye, from the middle of the bridge.", unit="mm", ge=1, le=200, default=None)
    both: float | None = number("From pupil to pupil.", unit="mm", ge=1, le=200, default=None)


class PupillaryDistance(NearPupillaryDistance):
    """Pupillary distance (PD) for distance vision: each eye by itself, or both together."""

    near: NearPupillaryDistance | None = Field(default=None, description="PD for near work, if it was measured.")


class Frame(RequestModel):
    """Frame sizes in the boxed lens system (ISO 8624, ISO 13666)."""

    a_mm: float = number("Horizontal boxed lens size A.", unit="mm", ge=10, le=LARGEST_A_MM)
    b_mm: float = number("Vertical boxed lens size B.", unit="mm", ge=5, le=120)
    dbl_mm: float = number("Distance between lenses (DBL).", unit="mm", ge=0, le=LARGEST_DBL_MM)
    ed_mm: float | None = number(
        "Effective diameter (ED): twice the longest radius from the boxed centre. Left out: the usual one for "
        "these boxed sizes is assumed, and said.",
        unit="mm",
        ge=5,
        le=170,
        default=None,
    )
    rim: Literal["full", "grooved", "drilled"] = Field(
        default="full", description="How the lens is held: full rim, grooved (cord), or drilled (rimless)."
    )
    rim_depth_mm: float | None = number(
        "Depth of the rim, front to back, where the lens sits.", unit="mm", ge=0.5, le=20, default=None
    )
    bevel_from_front_mm: float | None = number(
        "From the front edge of the lens to the tip of its bevel, which sits in the middle of the rim. Left out: the "
        "profile's usual place is taken, and said where it matters.",
        unit="mm",
        ge=0,
        le=20,
        default=None,
    )
    trace: Trace | None = Field(
        default=None,
        description="The lens shape as traced. With it the blank is judged exactly; its boxed sizes take the place of A, B "
        "and ED.",
    )


class FittingHeight(RequestModel):
    """Height of the pupil above the lowest tangent of the lens shape."""

    right: float | None = number("Right eye.", unit="mm", ge=0, le=120, default=None)
    left: float | None = number("Left eye.", unit="mm", ge=0, le=120, default=None)


class CentreOffset(RequestModel):
    """From the middle of a blank to its optical centre, as the blank would lie before the eye."""

    in_: float = number("Towards the nose; negative towards the temple.", unit="mm", ge=-30, le=30, alias="in")
    up: float = number("Upwards; negative downwards.", unit="mm", ge=-30, le=30)


class CentreOffsets(RequestModel):
    """Where the optical centres lie on the blanks."""

    right: CentreOffset | None = Field(default=None, description="The right eye's blank.")
    left: CentreOffset | None = Field(default=None, description="The left eye's blank.")


class Blank(RequestModel):
    """The blank as it lies on the bench."""

    centre_offset_mm: CentreOffsets = Field(
        default=CentreOffsets(),
        description="From the blank's middle to its optical centre, as measured when marking up; on a progressive blank to its "
        "fitting point. Unit: mm. Left out: the optical centre is taken to be in the middle.",
    )
    top_marked: bool = Field(
        default=False,
        description="Whether the blank has a marked top (some aspheric and atoric designs); it may not be turned then.",
    )


class Lens(RequestModel):
    """The lens that is wanted and the blank it would be cut from."""

    material: str | None = Field(
        default=None,
        min_length=1,
        max_length=40,
        description="Material by its generic name, as listed by GET /v1/reference/materials. Left out: the "
        "profile's usual material is assumed, and said.",
    )
    use: Literal["distance", "intermediate", "near", "bifocal", "trifocal", "progressive"] | None = Field(
        default=None, description="What the pair is for. Left out: distance is assumed, and said."
    )
    blank_diameter_mm: float | None = number(
        "Diameter of the round uncut lens. Left out: the best of the profile's list, or else the largest stocked one, of that "
        "material is assumed, and said.",
        unit="mm",
        ge=20,
        le=LARGEST_BLANK_MM,
        default=None,
    )
    front_power_d: float | None = number(
        "Power of the front surface (base curve), at the index of the material. Left out: the blank's own or a common rule's, "
        "and said.",
        unit="D",
        ge=0,
        le=25,
        default=None,
    )
    centre_thickness_mm: float | None = number(
        "Centre thickness as ordered or measured. Left out: the least that the material, the rim and the blank allow.",
        unit="mm",
        ge=0.1,
        le=LARGEST_CENTRE_MM,
        default=None,
    )
    supply: Literal["stock", "surfaced"] | None = Field(
        default=None,
        description="How the lens is supplied: stock (a finished blank, as thick as its diameter asks) or surfaced (ground for "
        "this frame). Left out: the profile's usual way is taken, and said.",
    )
    blank: Blank = Field(
        default=Blank(), description="How the blank lies: where its optical centre is, whether it may be turned."
    )
    tint: Literal["none", "even", "gradient"] = Field(
        default="none", description="Tint; a gradient has a top, so the blank may not be turned."
    )
    polarised: bool = Field(
        default=False,
        description="Whether the lens is polarised; its axis lies level, and the blank may not be turned.",
    )
    segment: Segment | None = Field(default=None, description="The segment of a bifocal or trifocal.")
    progressive: Progressive | None = Field(
        default=None, description="What the design of a progressive lens asks for, as its maker states it."
    )


class AsWorn(RequestModel):
    """How the finished pair will sit before the eyes."""

    vertex_distance_mm: float | None = number(
        "Vertex distance at which the pair will be worn.", unit="mm", ge=0, le=40, default=None
    )
    pantoscopic_deg: float | None = number(
        "Pantoscopic tilt; positive when the lower rim is nearer the face. Left out beside a face form: none is assumed, and "
        "said.",
        unit="°",
        ge=-10,
        le=30,
        default=None,
    )
    face_form_deg: float | None = number(
        "Face form (wrap) of each lens; positive when the temporal side is nearer the head. Left out beside a tilt: none is "
        "assumed, and said.",
        unit="°",
        ge=-10,
        le=40,
        default=None,
    )
    working_distance_mm: float | None = number(
        "From the lens to what is looked at in near or intermediate work. Left out: the profile's usual one is assumed where "
        "it matters, and said.",
        unit="mm",
        ge=150,
        le=2000,
        default=None,
    )


class Wearer(RequestModel):
    """What matters about the wearer."""

    age_years: float | None = number("Age.", unit="years", ge=0, le=130, default=None)
    useful_eyes: Literal["both", "right", "left"] = Field(
        default="both", description="Which eyes have useful sight; one means the other must be protected all the more."
    )


class Order(RequestModel):
    """An order for one pair of spectacles."""

    reference: str | None = Field(
        default=None,
        max_length=MAX_REFERENCE_CHARACTERS,
        description=f"The shop's own reference, returned as sent. Allowed: at most {MAX_REFERENCE_CHARACTERS} "
        "characters.",
    )
    prescription: Prescription = Field(description="The prescription: in fields, as written text, or as FHIR.")
    pd_mm: PupillaryDistance = Field(description="Pupillary distance. Unit: mm.")
    pd_source: Literal["self", "ruler", "pupillometer", "prescriber"] | None = Field(
        default=None,
        description="How the PD was found: by the wearer, by the shop with a ruler, with a pupillometer, or from the "
        "prescriber. Left out: nothing is said of its error.",
    )
    frame: Frame = Field(description="The frame.")
    fitting_height_mm: FittingHeight = Field(
        default=FittingHeight(),
        description="Fitting heights. Unit: mm. Left out: the horizontal centre line is assumed, and said.",
    )
    lens: Lens = Field(default=Lens(), description="The lens and its blank.")
    as_worn: AsWorn = Field(default=AsWorn(), description="How the pair will sit.")
    wearer: Wearer = Field(default=Wearer(), description="The wearer.")
    edge_profile: bool = Field(
        default=False, description="Whether the answer lists the edge thickness all round under thickness."
    )
    as_of: Day | None = Field(
        default=None,
        description="Day on which ages and expiries are judged. Unit: calendar day, YYYY-MM-DD. Left out: today (UTC), "
        "and said.",
    )
    profile: ProfileOverride | None = Field(
        default=None, description="Overrides of the shop's profile for this order, by section and key."
    )

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE_ORDER]})


class ReadRequest(RequestModel):
    """A prescription to be read."""

    prescription: Prescription = Field(description="The prescription: in fields, as written text, or as FHIR.")
    as_of: Day | None = Field(
        default=None,
        description="Day on which expiries are judged. Unit: calendar day, YYYY-MM-DD. Left out: today (UTC), and said.",
    )
    profile: ProfileOverride | None = Field(
        default=None, description="Overrides of the shop's profile for this reading, by section and key."
    )

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"prescription": EXAMPLE_ORDER["prescription"], "as_of": EXAMPLE_ORDER["as_of"]}, EXAMPLE_TEXT]
        }
    )
