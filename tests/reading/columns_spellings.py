"""Header names as shops write them, with the member of the order each stands for."""

from itertools import product

RIGHT = ("R", "RE", "R.E.", "OD", "O.D.", "Right", "right eye", "RT", "od")
LEFT = ("L", "LE", "L.E.", "OS", "O.S.", "Left", "left eye", "LT", "os")

# For figures of each eye: the words, the member under /prescription/<eye>.
OF_EACH_EYE = {
    "sphere": ("Sph", "SPH.", "Sphere", "sphere (D)", "sphere power", "Sphère", "DS", "Dist. sph"),
    "cylinder": ("Cyl", "CYL", "cylinder", "Cylinder [D]", "cyl. (dpt)", "DC"),
    "axis": ("Axis", "ax", "AXIS (°)", "cyl axis", "Cylinder Axis", "axis º", "axis (deg)"),
    "add": ("Add", "ADD", "Addition", "near add", "Reading Addition", "add (D)"),
    "prism": ("Prism", "prism (Δ)", "Prism amount", "PRISM (PD)", "prism / base"),
}
FORMS = (
    "{eye} {figure}",
    "{figure} {eye}",
    "{figure} ({eye})",
    "{eye}_{figure}",
    "{eye}\n{figure}",
    "{figure} - {eye}",
)

WITHOUT_AN_EYE = {
    "/reference": (
        "Reference", "ref", "Ref.", "Order", "Order no", "Order No.", "Order #", "ORDER ID", "Job no", "Réf.",
        "order №",
    ),
    "/prescription/written": (
        "Prescription", "Rx", "Written", "written prescription", "Rx text", "Prescription (text)", "script",
    ),
    "/prescription/vertex_distance_mm": (
        "BVD refracted", "Vertex distance (refracted)", "VD of refraction (mm)", "back vertex distance tested",
        "Rx BVD",
    ),
    "/as_worn/vertex_distance_mm": (
        "BVD worn", "Vertex distance as worn", "as_worn vertex_distance_mm", "VD fitted", "vertex (worn) [mm]",
    ),
    "/prescription/issued_on": (
        "Issued", "issued_on", "Issue date", "Date of issue", "Rx date", "Prescription date", "Issued (YYYY-MM-DD)",
    ),
    "/prescription/expires_on": (
        "Expires", "expires_on", "Expiry", "Expiry date", "Rx expiry date", "Valid until", "expiration",
    ),
    "/pd_mm/both": (
        "PD", "P.D.", "PD (mm)", "PD [mm]", "pd_mm", "pd_mm both", "IPD", "Pupillary distance", "Distance PD",
        "binocular PD", "PD R/L", "PD OU", "PD in mm", "Total PD", "DPD",
    ),
    "/pd_mm/right": (
        "PD R", "R PD", "PD (R)", "RPD", "PDR", "Mono PD right", "PD OD (mm)", "pd_mm right", "rightPD", "R half PD",
        "monocular PD, RE",
    ),
    "/pd_mm/left": (
        "PD L", "L PD", "PD (L)", "LPD", "PDL", "Mono PD left", "PD OS (mm)", "pd_mm left", "leftPD", "L half PD",
        "monocular PD, LE",
    ),
    "/pd_mm/near/both": ("Near PD", "NPD", "PD near", "PD (near) mm", "Reading PD", "near pupillary distance"),
    "/pd_mm/near/right": ("Near PD R", "NPD OD", "near mono PD right", "R reading PD"),
    "/pd_mm/near/left": ("Near PD L", "NPD OS", "near mono PD left", "L reading PD"),
    "/frame/a_mm": (
        "A", "a", "A (mm)", "A, mm", "A mm", "a_mm", "A size", "Frame A", "Eye size", "eyesize", "Lens width",
        "A-box", "Amm", "box width [mm]",
    ),
    "/frame/b_mm": ("B", "b", "B (mm)", "b_mm", "B size", "Frame B", "Lens height", "B box", "Bmm"),
    "/frame/dbl_mm": (
        "DBL", "D.B.L.", "dbl_mm", "DBL (mm)", "DBLmm", "Bridge", "bridge size", "Bridge width (mm)",
        "Distance between lenses", "Frame DBL",
    ),
    "/frame/ed_mm": ("ED", "E.D.", "ed_mm", "ED (mm)", "Effective diameter", "effective dia. (mm)", "Frame ED"),
    "/frame/rim": ("Rim", "rim type", "RIM", "Mounting", "frame_rim"),
    "/fitting_height_mm/right": (
        "Fitting height R", "R fitting ht (mm)", "FH OD", "pupil height, right", "fitting_height_mm_right",
    ),
    "/fitting_height_mm/left": (
        "Fitting height L", "L fitting ht (mm)", "FH OS", "pupil height, left", "fitting_height_mm_left",
    ),
    "/lens/material": ("Material", "Lens material", "MATERIAL", "lens_material", "Mat."),
    "/lens/use": ("Use", "lens use", "Usage", "Lens design", "lens_type"),
    "/lens/blank_diameter_mm": (
        "Blank", "Blank diameter", "blank_diameter_mm", "Blank dia. (mm)", "blank size", "Uncut diameter",
        "blankDiameterMm",
    ),
    "/wearer/age_years": ("Age", "age_years", "Age (years)", "Patient age", "wearer age"),
    "/wearer/useful_eyes": ("Useful eyes", "useful_eyes"),
    "/as_of": ("As of", "as_of", "As of date"),
}  # fmt: skip

NOTHING_OF_AN_ORDER = (
    "Notes", "Name", "Patient", "Patient name", "Price", "Total price", "Frame colour", "Frame", "Frame ref",
    "Rx no.", "Lens",
    "Lens notes", "Base curve", "R VA", "Visual acuity OD", "Old R sph", "Previous right cyl", "Date", "Frame PD",
    "Temple",
    "Frame material", "Order days", "Phone", "Tint", "%", "日本", "Address", "Deal", "Red", "Loaded", "C", "S",
)  # fmt: skip

NOT_CLEAR = (
    "Sphere", "Cyl", "Axis", "SPH OU", "Sphere R/L", "Sph/Cyl R", "cyl/axis OD", "R sph & cyl", "Sph cyl R", "Prism",
    "Base",
    "Mono PD", "R", "OD", "Right eye", "R Rx", "R A", "A right", "R ED", "R Zyl", "R S", "R C", "R BC", "Int add R",
    "Near sph R",
    "Height", "Seg height", "R seg ht", "R height", "OC height L", "Dia", "Diameter", "Lens diameter",
    "Vertex distance", "BVD", "VD",
    "vertex_distance_mm", "R prism in", "Base in R", "R prism H V", "R prism 1 2", "R prism BI", "Index",
    "PD near far", "R sph new",
    "A R sph", "Sphère droite", "Material index R",
)  # fmt: skip

ANOTHER_UNIT = (
    "A (cm)", "PD [inch]", "B (in)", 'DBL (")', "ED, cm", "Blank dia (inches)", "R sph (mm)", "L axis (mm)",
    "R axis (rad)", "PD (D)",
    "Age (months)", "R fitting height (cm)", "Vertex distance worn (cm)", "A (°)", "R prism (cm)", "PD %",
)  # fmt: skip

FORMS_OF_EACH_EYE = [
    (form, member, figure) for member, figures in OF_EACH_EYE.items() for figure, form in product(figures, FORMS)
]

RUN_TOGETHER = (
    ("RSph", "/prescription/right/sphere"),
    ("ODSph", "/prescription/right/sphere"),
    ("rightSphere", "/prescription/right/sphere"),
    ("RightEyeSphere", "/prescription/right/sphere"),
    ("SPHR", "/prescription/right/sphere"),
    ("sphereod", "/prescription/right/sphere"),
    ("ＳＰＨ Ｒ", "/prescription/right/sphere"),
    ("R/Sph", "/prescription/right/sphere"),
    ("OSCyl", "/prescription/left/cylinder"),
    ("leftCylinder", "/prescription/left/cylinder"),
    ("LCYL", "/prescription/left/cylinder"),
    ("LeAxis", "/prescription/left/axis"),
    ("axisOS", "/prescription/left/axis"),
    ("LAdd", "/prescription/left/add"),
    ("radd", "/prescription/right/add"),
    ("rprism", "/prescription/right/prism"),
)
