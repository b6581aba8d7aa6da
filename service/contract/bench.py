"""Requests of the bench: drawings, and trace files that are to be read."""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from service.contract.fields import RequestModel
from service.contract.order import EXAMPLE_ORDER, Order
from service.contract.trace import EXAMPLE_RADII
from service.limits import MAX_TRACE_FILE_CHARACTERS

EXAMPLE_TRACED_ORDER: dict[str, Any] = EXAMPLE_ORDER | {
    "frame": EXAMPLE_ORDER["frame"] | {"ed_mm": 55.6, "trace": {"right": {"radii_mm": EXAMPLE_RADII}}}
}
EXAMPLE_TRACE_FILE = "x,y\n" + "\n".join(
    f"{x},{y}"
    for x, y in (
        (26.9, 0), (26.4, 4.7), (25, 9.1), (22.5, 13), (19, 15.9), (15.1, 18), (11.1, 19.2), (7.2, 19.8), (3.5, 20),
        (0, 19.8), (-3.4, 19.5), (-6.9, 18.9), (-10.4, 18), (-14.1, 16.8), (-17.8, 14.9), (-21.4, 12.4),
        (-24.2, 8.8), (-26, 4.6), (-26.8, 0), (-27, -4.8), (-26, -9.5), (-23.5, -13.6), (-19.7, -16.5),
        (-15.4, -18.3), (-11.1, -19.2), (-7.1, -19.6), (-3.5, -19.8), (0, -19.9), (3.5, -20), (7.3, -20),
        (11.3, -19.7), (15.7, -18.7), (20.1, -16.8), (23.7, -13.7), (26.1, -9.5), (27, -4.8),
    )
)  # fmt: skip


class DrawingRequest(RequestModel):
    """A drawing of an order's lenses at true size."""

    order: Order = Field(description="The order, as for POST /v1/orders/check.")
    lenses: Literal["both", "right", "left"] = Field(default="both", description="Which lenses are drawn.")
    page: Literal["a4", "letter"] = Field(default="a4", description="Size of the page, laid across.")
    placement: Literal["as_ordered", "advised"] = Field(
        default="as_ordered",
        description="as_ordered: the optical centre at the pupil. advised: turned or shifted as the check advises, where it "
        "does.",
    )

    model_config = ConfigDict(json_schema_extra={"examples": [{"order": EXAMPLE_TRACED_ORDER, "page": "a4"}]})


class TraceFile(RequestModel):
    """A trace file that is to be read."""

    text: Annotated[str, Field(min_length=1, max_length=MAX_TRACE_FILE_CHARACTERS)] = Field(
        description="What stands in the file: radii or points as JSON, as CSV or in two plain columns. Unit: characters. "
        f"Allowed: 1 to {MAX_TRACE_FILE_CHARACTERS} characters.",
    )
    eye: Literal["right", "left"] = Field(default="right", description="Which lens was traced.")

    model_config = ConfigDict(json_schema_extra={"examples": [{"text": EXAMPLE_TRACE_FILE, "eye": "right"}]})
