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
MAX_READINGS: Final = 20
MAX_OPEN_ORDERS: Final = 50
MAX_INSPECTED_PAIRS: Final = 200

# Many orders in one request: in a list; or as a stream, whose every line is bounded as the body of one order is.
MAX_LISTED_ORDERS: Final = 200
MAX_STREAMED_ROWS: Final = 100_000
MAX_STREAMED_BYTES: Final = 268_435_456
# What is taken in before it is worked on. A caller that reads nothing until all is sent may send this much.
MAX_BYTES_AHEAD: Final = 262_144
STREAM_IDLE_SECONDS: Final = 30.0
# Buffers on the way hold some MB: a caller that reads slowly seems to stand still for a while.
STREAM_UNREAD_SECONDS: Final = 120.0
STREAM_SECONDS: Final = 1_800.0
MAX_SCREENED_FRAMES: Final = 100_000
# 100,000 frames with names of a usual length.
MAX_CATALOGUE_CHARACTERS: Final = 10_000_000
MAX_CATALOGUE_BYTES: Final = 20_000_000
MAX_CATALOGUE_VALUES: Final = 8 * MAX_SCREENED_FRAMES
# Orders that need a whole check for every frame: see service.screening.
MAX_CHECKED_FRAMES: Final = 5_000


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
    Limit("readings", MAX_READINGS, "readings", "Most repeated readings of one quantity in an inspection."),
    Limit("open-orders", MAX_OPEN_ORDERS, "orders", "Most open orders named beside one inspection."),
    Limit("inspected-pairs", MAX_INSPECTED_PAIRS, "pairs", "Most pairs in one request for inspection."),
    Limit("screened-frames", MAX_SCREENED_FRAMES, "frames", "Most frames in one catalogue."),
    Limit("catalogue-csv", MAX_CATALOGUE_CHARACTERS, "characters", "Longest catalogue given as CSV."),
    Limit("catalogue-bytes", MAX_CATALOGUE_BYTES, "bytes", "Largest body of a request that holds a catalogue."),
    Limit("catalogue-values", MAX_CATALOGUE_VALUES, "values", "Most values in such a body."),
    Limit(
        "checked-frames",
        MAX_CHECKED_FRAMES,
        "frames",
        "Most frames for orders that need a whole check for each: reading parts, listed finished blanks, marked blanks.",
    ),
    Limit("listed-orders", MAX_LISTED_ORDERS, "orders", "Most orders in one list."),
    Limit("streamed-rows", MAX_STREAMED_ROWS, "rows", "Most lines or rows of a stream of orders, empty ones included."),
    Limit("streamed-bytes", MAX_STREAMED_BYTES, "bytes", "Most bytes of a stream of orders in all."),
    Limit("bytes-ahead", MAX_BYTES_AHEAD, "bytes", "How much of a stream may be sent before its answers are read."),
    Limit("stream-idle", STREAM_IDLE_SECONDS, "s", "Longest pause of a caller in sending a stream."),
    Limit("stream-unread", STREAM_UNREAD_SECONDS, "s", "How long answers of a stream may wait to be read."),
    Limit("stream-seconds", STREAM_SECONDS, "s", "Time a stream of orders may take in all."),
    Limit("trace-file-bytes", MAX_TRACE_FILE_BYTES, "bytes", "Largest body of a request that holds a trace file."),
    Limit("written-prescription", MAX_WRITTEN_CHARACTERS, "characters", "Longest prescription given as text."),
)
