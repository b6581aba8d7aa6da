"""The shape of a profile: every key with its unit, its bounds, and where the shipped value comes from.

The same description serves the TOML file, the overrides in a request (every key optional) and
`GET /v1/reference/profile`.
"""

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, Field, create_model
from pydantic.fields import FieldInfo

from service.profile.blanks import MOST_ROWS, FinishedBlank
from service.profile.chromatic import ChromaticSection
from service.profile.fields import Section as _Section
from service.profile.fields import limit as _limit
from service.profile.inspection import InspectionSection
from service.profile.worn import NearSection, ProgressiveSection, SegmentSection, WornSection


class StockedBlanks(_Section):
    """Round uncut lenses of one material that lie in the drawer."""

    material: str = Field(
        min_length=1,
        max_length=40,
        description="Material by its generic name. Allowed: 1 to 40 characters.",
        json_schema_extra={"source": "common-practice"},
    )
    diameters_mm: list[Annotated[float, Field(ge=20, le=120, json_schema_extra={"unit": "mm"})]] = Field(
        min_length=1,
        max_length=20,
        description="Diameters in stock. Unit: mm. Allowed: 1 to 20 values from 20 to 120.",
        json_schema_extra={"unit": "mm", "source": "common-practice"},
    )
    least_centre_mm: float | None = Field(
        default=None,
        ge=0.5,
        le=5,
        description="Least centre thickness of this material. Unit: mm. Allowed: 0.5 to 5. Left out: thickness.least_centre_mm.",
        json_schema_extra={"unit": "mm", "source": "memory"},
    )


class ShopSection(_Section):
    """The shop and what it usually supplies."""

    name: str = Field(
        min_length=1,
        max_length=80,
        description="Name of the profile, shown in every answer. Allowed: 1 to 80 characters.",
        json_schema_extra={"source": "house"},
    )
    usual_material: str = Field(
        min_length=1,
        max_length=40,
        description="Material assumed where an order names none. Allowed: 1 to 40 characters.",
        json_schema_extra={"source": "house"},
    )
    usual_vertex_mm: float = _limit(
        "Vertex distance taken for granted where none is given.", unit="mm", ge=5, le=30, source="2020mag"
    )


class BlankSection(_Section):
    """Cutting a lens from its blank."""

    allowance_mm: float = _limit(
        "Added to the diameter for chipping and handling.", unit="mm", ge=0, le=10, source="common-practice"
    )
    close_margin_mm: float = _limit(
        "A margin below this is said to be close.", unit="mm", ge=0, le=10, source="common-practice"
    )
    bases_differ_d: float = _limit(
        "Difference of the two front surfaces (base curves) beyond which it is asked about.",
        unit="D",
        ge=0,
        le=20,
        source="common-practice",
    )


class PowerSection(_Section):
    """Powers that are usual, unusual and out of reach."""

    readable_d: float = _limit(
        "Beyond this, plus or minus, a power is taken for a slip (a lost decimal point).",
        unit="D",
        ge=10,
        le=100,
        source="house",
    )
    sphere_least_d: float = _limit(
        "Spheres below this are asked about.", unit="D", ge=-40, le=0, source="nhanes-lensometry"
    )
    sphere_most_d: float = _limit(
        "Spheres above this are asked about.", unit="D", ge=0, le=40, source="nhanes-lensometry"
    )
    cylinder_large_d: float = _limit(
        "Cylinders beyond this are noted.", unit="D", ge=0, le=20, source="nhanes-lensometry"
    )
    cylinder_unusual_d: float = _limit(
        "Cylinders beyond this are asked about.", unit="D", ge=0, le=20, source="nhanes-lensometry"
    )
    difference_noted_d: float = _limit(
        "Difference of the spherical equivalents that is noted.", unit="D", ge=0, le=20, source="nhanes-lensometry"
    )
    difference_unusual_d: float = _limit(
        "Difference of the spherical equivalents that is asked about.",
        unit="D",
        ge=0,
        le=20,
        source="nhanes-lensometry",
    )
    lost_sign_least_d: float = _limit(
        "Spheres of opposite sign that are both at least this strong may hide a lost sign.",
        unit="D",
        ge=0,
        le=20,
        source="nhanes-lensometry",
    )
    lost_sign_difference_d: float = _limit(
        "... if their amounts differ by no more than this.", unit="D", ge=0, le=5, source="nhanes-lensometry"
    )


class AddSection(_Section):
    """Reading additions."""

    least_d: float = _limit("Smallest usual addition.", unit="D", ge=0, le=5, source="common-practice")
    most_d: float = _limit("Largest usual addition.", unit="D", ge=0, le=10, source="common-practice")


class PrismSection(_Section):
    """Prescribed prism and differential prism."""

    unusual_pd: float = _limit(
        "Prism of one eye beyond this is asked about.", unit="Δ", ge=0, le=40, source="common-practice"
    )
    reading_level_mm: float = _limit(
        "Depth below the optical centre at which reading is judged.", unit="mm", ge=1, le=20, source="2020mag"
    )
    imbalance_noted_pd: float = _limit(
        "Vertical imbalance at the reading level beyond which it is noted.",
        unit="Δ",
        ge=0,
        le=10,
        source="nhanes-lensometry",
    )
    imbalance_unusual_pd: float = _limit(
        "Vertical imbalance at the reading level that is asked about where the pair is for reading.",
        unit="Δ",
        ge=0,
        le=10,
        source="2020-slab-off",
    )


class PupillaryDistanceRange(_Section):
    """Usual PD up to an age."""

    below_age_years: float = _limit("Up to, not including, this age.", unit="years", ge=0, le=131, source="pd-children")
    least_mm: float = _limit("Smallest usual PD.", unit="mm", ge=20, le=90, source="pd-children")
    most_mm: float = _limit("Largest usual PD.", unit="mm", ge=20, le=100, source="ansur2")


class PupillaryDistanceSection(_Section):
    """Pupillary distances."""

    one_eye_most_mm: float = _limit(
        "A PD for both eyes up to this looks like that of one eye.", unit="mm", ge=20, le=60, source="eyes40"
    )
    half_most_mm: float = _limit(
        "A PD for one eye beyond this looks like that for both.", unit="mm", ge=30, le=60, source="eyes40"
    )
    halves_unequal_mm: float = _limit(
        "Difference of the two halves beyond which they are asked about.", unit="mm", ge=0, le=20, source="eyes40"
    )
    sum_differs_mm: float = _limit(
        "Difference between the sum of the halves and the PD for both that is put down to rounding.",
        unit="mm",
        ge=0,
        le=5,
        source="house",
    )
    error_self_mm: float = _limit(
        "Usual error of a PD that the wearer measured.", unit="mm", ge=0, le=20, source="common-practice"
    )
    error_ruler_mm: float = _limit(
        "Usual error of a PD measured with a ruler.", unit="mm", ge=0, le=20, source="common-practice"
    )
    error_pupillometer_mm: float = _limit(
        "Usual error of a PD measured with a pupillometer.", unit="mm", ge=0, le=20, source="common-practice"
    )
    error_prescriber_mm: float = _limit(
        "Usual error of a PD that stands on the prescription.", unit="mm", ge=0, le=20, source="common-practice"
    )
    adult_from_years: float = _limit(
        "Age from which the last range holds; also the range taken where the age is not known.",
        unit="years",
        ge=0,
        le=30,
        source="pd-children",
    )
    ranges: list[PupillaryDistanceRange] = Field(
        min_length=1,
        max_length=20,
        description="Usual ranges by age, youngest first. Unit: mm. Allowed: 1 to 20 ranges.",
        json_schema_extra={"source": "pd-children"},
    )


class TraceSection(_Section):
    """Traced outlines."""

    box_differs_mm: float = _limit(
        "Difference between traced and stated sizes beyond which they are asked about.",
        unit="mm",
        ge=0,
        le=5,
        source="house",
    )
    eyes_differ_mm: float = _limit(
        "Difference between the two traced lenses beyond which they are asked about.",
        unit="mm",
        ge=0,
        le=5,
        source="house",
    )
    off_centre_mm: float = _limit(
        "Distance of the trace's origin from its boxed centre beyond which it is noted.",
        unit="mm",
        ge=0,
        le=50,
        source="house",
    )
    spike_deg: float = _limit(
        "Change of direction at one point of the outline beyond which it is taken for a spike.",
        unit="°",
        ge=30,
        le=180,
        source="house",
    )
    gap_times: float = _limit(
        "An outline is taken to be open where the way from its last point to its first is longer than this many times the "
        "longest of its other sides.",
        unit="times",
        ge=1,
        le=100,
        source="house",
    )


class PlacementSection(_Section):
    """Where the blank sits."""

    turn_gain_mm: float = _limit(
        "Gain of room, on the diameter, from which a half turn of the blank is advised.",
        unit="mm",
        ge=0,
        le=10,
        source="common-practice",
    )
    one_eye_share: float = _limit(
        "Part of the pair's prism limits that one eye may use where each is placed by itself.",
        unit="1",
        ge=0,
        le=0.5,
        source="house",
    )


class ThicknessSection(_Section):
    """How thick lenses are made."""

    supply: Literal["stock", "surfaced"] = Field(
        description="How lenses are supplied where an order does not say: stock or surfaced.",
        json_schema_extra={"source": "house"},
    )
    least_centre_mm: float = _limit(
        "Least centre thickness of a material that the stock does not give one for.",
        unit="mm",
        ge=0.5,
        le=5,
        source="memory",
    )
    least_edge_full_mm: float = _limit("Least edge in a full rim.", unit="mm", ge=0.1, le=5, source="memory")
    least_edge_grooved_mm: float = _limit(
        "Least edge for a groove.", unit="mm", ge=0.1, le=5, source="eyecare-business-rimless"
    )
    least_edge_drilled_mm: float = _limit("Least edge for drilling.", unit="mm", ge=0.1, le=5, source="2020mag-rimless")
    most_edge_drilled_mm: float = _limit(
        "Edge beyond which a drilled mount is asked about.", unit="mm", ge=1, le=20, source="2020mag-rimless"
    )
    centre_noted_mm: float = _limit(
        "Centre beyond which it is noted.", unit="mm", ge=1, le=30, source="common-practice"
    )
    edge_noted_mm: float = _limit("Edge beyond which it is noted.", unit="mm", ge=1, le=30, source="common-practice")
    edge_unusual_mm: float = _limit(
        "Edge beyond which it is asked about.", unit="mm", ge=1, le=40, source="common-practice"
    )
    shows_noted_mm: float = _limit(
        "Way by which a lens shows behind its rim beyond which it is noted.",
        unit="mm",
        ge=0,
        le=20,
        source="common-practice",
    )
    bevel_from_front_mm: float = _limit(
        "Usual way from the front edge of the lens to the tip of the bevel.",
        unit="mm",
        ge=0,
        le=10,
        source="common-practice",
    )
    stock_thicker_mm: float = _limit(
        "Centre by which a stock plus lens is thicker than one ground for the frame, from which it is noted.",
        unit="mm",
        ge=0,
        le=10,
        source="common-practice",
    )


class FrameSection(_Section):
    """Frame sizes that are usual."""

    a_least_mm: float = _limit("Smallest usual A.", unit="mm", ge=10, le=120, source="clinic-frame-sizes")
    a_most_mm: float = _limit("Largest usual A.", unit="mm", ge=10, le=120, source="clinic-frame-sizes")
    b_least_mm: float = _limit("Smallest usual B.", unit="mm", ge=5, le=120, source="memory")
    b_most_mm: float = _limit("Largest usual B.", unit="mm", ge=5, le=120, source="memory")
    dbl_least_mm: float = _limit("Smallest usual DBL.", unit="mm", ge=0, le=60, source="clinic-frame-sizes")
    dbl_most_mm: float = _limit("Largest usual DBL.", unit="mm", ge=0, le=60, source="clinic-frame-sizes")
    rounding_mm: float = _limit(
        "Amount by which printed sizes may contradict each other through rounding.",
        unit="mm",
        ge=0,
        le=2,
        source="house",
    )


class FitSection(_Section):
    """Where the pupil sits in the lens."""

    in_noted_mm: float = _limit("Decentration in that is noted.", unit="mm", ge=0, le=20, source="ansur2")
    in_unusual_mm: float = _limit("Decentration in that is asked about.", unit="mm", ge=0, le=20, source="ansur2")
    out_unusual_mm: float = _limit("Decentration out that is asked about.", unit="mm", ge=0, le=20, source="ansur2")
    room_above_mm: float = _limit(
        "Least room between the pupil and the upper edge.", unit="mm", ge=0, le=30, source="common-practice"
    )
    room_below_mm: float = _limit(
        "Least room between the pupil and the lower edge.", unit="mm", ge=0, le=30, source="common-practice"
    )
    heights_unequal_mm: float = _limit(
        "Difference of the fitting heights beyond which they are asked about.",
        unit="mm",
        ge=0,
        le=20,
        source="common-practice",
    )


class ToleranceSection(_Section):
    """The standard by which centration is judged."""

    standard: Literal["ansi-z80.1-2015", "iso-21987-2017"] = Field(
        description="Tolerance standard and year.", json_schema_extra={"source": "house"}
    )


class VertexSection(_Section):
    """Vertex distance."""

    matters_from_d: float = _limit(
        "Power, plus or minus, from which the vertex distance is asked for.",
        unit="D",
        ge=0,
        le=40,
        source="vertex-practice",
    )
    change_matters_d: float = _limit(
        "Change of power through the vertex distance that is asked about.",
        unit="D",
        ge=0,
        le=2,
        source="common-practice",
    )
    least_mm: float = _limit("Smallest usual vertex distance.", unit="mm", ge=0, le=40, source="2020mag")
    most_mm: float = _limit("Largest usual vertex distance.", unit="mm", ge=0, le=40, source="2020mag")


class DatesSection(_Section):
    """Age of the prescription."""

    noted_after_days: float = _limit("Age that is noted.", unit="days", ge=1, le=3660, source="expiry-practice")
    old_after_days: float = _limit("Age that is asked about.", unit="days", ge=1, le=3660, source="expiry-practice")


class WearerSection(_Section):
    """Wearers who need a person's attention."""

    person_below_age_years: float = _limit(
        "Orders for wearers under this age go to a person.", unit="years", ge=0, le=30, source="uk-unregistered-sale"
    )
    impact_below_age_years: float = _limit(
        "Impact-resistant material is advised under this age.", unit="years", ge=0, le=30, source="prevent-blindness"
    )


class CatalogueSection(_Section):
    """The frames that are screened where a request names none."""

    file: str = Field(
        max_length=200,
        description="File with the frames as CSV, its place told from the profile's own folder; empty for none. It is read once, "
        "when the service starts, and no request can set it. Allowed: 0 to 200 characters.",
        json_schema_extra={"source": "house"},
    )


class CautionsSection(_Section):
    """Cautions that stand on every answer."""

    codes: list[Annotated[str, Field(max_length=40)]] = Field(
        min_length=1,
        max_length=20,
        description="Cautions by code, in the order in which they are shown. Allowed: 1 to 20 known codes.",
        json_schema_extra={"source": "house"},
    )


class Profile(_Section):
    """Everything a shop may tune."""

    shop: ShopSection = Field(description="The shop and what it usually supplies.")
    stock: list[StockedBlanks] = Field(
        min_length=1, max_length=60, description="Blanks in stock, a material each. Allowed: 1 to 60 materials."
    )
    blanks: list[FinishedBlank] = Field(
        max_length=MOST_ROWS,
        description="Finished blanks in stock, a row for each kind and diameter. They go before stock in every material that "
        f"has rows here. Allowed: 0 to {MOST_ROWS} rows.",
    )
    blank: BlankSection = Field(description="Cutting a lens from its blank.")
    power: PowerSection = Field(description="Powers that are usual, unusual and out of reach.")
    add: AddSection = Field(description="Reading additions.")
    prism: PrismSection = Field(description="Prescribed prism and differential prism.")
    pd: PupillaryDistanceSection = Field(description="Pupillary distances.")
    frame: FrameSection = Field(description="Frame sizes that are usual.")
    trace: TraceSection = Field(description="Traced outlines.")
    placement: PlacementSection = Field(description="Where the blank sits.")
    thickness: ThicknessSection = Field(description="How thick lenses are made.")
    chromatic: ChromaticSection = Field(description="Coloured fringes away from the optical centre.")
    fit: FitSection = Field(description="Where the pupil sits in the lens.")
    tolerance: ToleranceSection = Field(description="The standard by which centration is judged.")
    inspection: InspectionSection = Field(
        description="Inspection of finished pairs, beside the limits of the standard."
    )
    vertex: VertexSection = Field(description="Vertex distance.")
    worn: WornSection = Field(description="Lenses as worn: tilt, wrap and magnification.")
    near: NearSection = Field(description="Near work.")
    segment: SegmentSection = Field(description="Segments of bifocals and trifocals.")
    progressive: ProgressiveSection = Field(
        description="Progressive lenses, where an order does not give the figures of the design."
    )
    dates: DatesSection = Field(description="Age of the prescription.")
    wearer: WearerSection = Field(description="Wearers who need a person's attention.")
    catalogue: CatalogueSection = Field(description="The frames that are screened where a request names none.")
    cautions: CautionsSection = Field(description="Cautions that stand on every answer.")


# Names a file of the machine: for who runs the service, not for who asks it.
_NOT_BY_REQUEST = frozenset({"catalogue"})


def _every_key_optional(model: type[BaseModel], name: str) -> type[BaseModel]:
    """The same model with every key optional, sections included, so that overrides need no second description."""
    fields: dict[str, Any] = {}
    for key, field in model.model_fields.items():
        if key in _NOT_BY_REQUEST:
            continue
        kind: Any = field.annotation
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            kind = _every_key_optional(kind, f"{kind.__name__}Override")
        optional = FieldInfo(default=None, description=field.description, json_schema_extra=field.json_schema_extra)
        optional.metadata = list(field.metadata)
        fields[key] = (kind | None, optional)
    return create_model(name, __config__=model.model_config, __doc__=model.__doc__, **fields)


if TYPE_CHECKING:
    ProfileOverride = Profile
else:
    ProfileOverride = _every_key_optional(Profile, "ProfileOverride")
