"""Every bound of the service, in one place: what is refused, and from which size on.

Bounds on the web (bytes, depth, seconds) protect the machine; bounds of the contract keep a field to what a shop can
mean. All are common practice, no source, unless a comment says otherwise. `LIMITS` is what GET /v1/reference/limits
prints.
"""

from dataclasses import dataclass
from typing import Final

# The body of a request.
MAX_BODY_BYTES: Final = 262_144
MAX_DEPTH: Final = 16
MAX_STRING_CHARACTERS: Final = 2_000
# A FHIR document carries a narrative for people.
MAX_FHIR_STRING_CHARACTERS: Final = 100_000
MAX_VALUES: Final = 20_000
# A double needs at most 17 significant digits; sign, point and exponent included, 40 characters are generous.
MAX_NUMBER_CHARACTERS: Final = 40
BODY_SECONDS: Final = 10.0

# The rest of a request.
MAX_URL_BYTES: Final = 8_192
MAX_REQUEST_ID_CHARACTERS: Final = 64

# The answer.
MAX_ERRORS_REPORTED: Final = 50

# The server. Settings may lower or raise the number of requests in flight.
MAX_IN_FLIGHT: Final = 64
RETRY_AFTER_SECONDS: Final = 1
KEEP_ALIVE_SECONDS: Final = 65
GRACEFUL_SHUTDOWN_SECONDS: Final = 10

# The contract.
MAX_PRISMS_PER_EYE: Final = 4
MAX_REFERENCE_CHARACTERS: Final = 100
MAX_WRITTEN_CHARACTERS: Final = 2_000
MAX_TRACE_POINTS: Final = 1_000
MAX_TRACE_FILE_CHARACTERS: Final = 100_000
# Whatever the characters are, and however they are escaped in JSON: at most 12 bytes each.
MAX_TRACE_FILE_BYTES: Final = 12 * MAX_TRACE_FILE_CHARACTERS + 1_000
MAX_COMPARED_MATERIALS: Final = 60
MAX_COMPARED_ROWS: Final = 200


@dataclass(frozen=True, slots=True)
class Limit:
    """One bound, as the reference prints it."""

    name: str
    value: float
    unit: str
    description: str


LIMITS: Final[tuple[Limit, ...]] = (
    Limit("body-bytes", MAX_BODY_BYTES, "bytes", "Largest body of a request."),
    Limit("body-depth", MAX_DEPTH, "levels", "How deep objects and lists may be nested in a body."),
    Limit("body-string", MAX_STRING_CHARACTERS, "characters", "Longest text in a body, the name of a member included."),
    Limit("fhir-string", MAX_FHIR_STRING_CHARACTERS, "characters", "The same where the body is a FHIR document."),
    Limit("body-values", MAX_VALUES, "values", "Most values in a body: every object, list, number and text counts."),
    Limit("body-number", MAX_NUMBER_CHARACTERS, "characters", "Longest number as written in a body."),
    Limit("body-seconds", BODY_SECONDS, "s", "Time a body may take to arrive."),
    Limit("url-bytes", MAX_URL_BYTES, "bytes", "Longest path and query of a request."),
    Limit("request-id", MAX_REQUEST_ID_CHARACTERS, "characters", "Longest X-Request-Id that is taken over."),
    Limit("errors-reported", MAX_ERRORS_REPORTED, "faults", "Most faults listed in one problem document."),
    Limit("in-flight", MAX_IN_FLIGHT, "requests", "Requests worked on at once, unless the settings say otherwise."),
    Limit("retry-after", RETRY_AFTER_SECONDS, "s", "When to try again after being turned away because of load."),
    Limit("prisms-per-eye", MAX_PRISMS_PER_EYE, "components", "Most prism components prescribed for one eye."),
    Limit("reference", MAX_REFERENCE_CHARACTERS, "characters", "Longest reference of an order."),
    Limit("trace-points", MAX_TRACE_POINTS, "points", "Most radii or points of one outline."),
    Limit("trace-file", MAX_TRACE_FILE_CHARACTERS, "characters", "Longest trace file given as text."),
    Limit("compared-materials", MAX_COMPARED_MATERIALS, "materials", "Most materials named for one comparison."),
    Limit("compared-rows", MAX_COMPARED_ROWS, "rows", "Most pairs of material and blank in one comparison."),
    Limit("trace-file-bytes", MAX_TRACE_FILE_BYTES, "bytes", "Largest body of a request that holds a trace file."),
    Limit("written-prescription", MAX_WRITTEN_CHARACTERS, "characters", "Longest prescription given as text."),
)
