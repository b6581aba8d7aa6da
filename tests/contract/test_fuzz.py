"""The published contract, tried with requests made from it: what it allows is answered, what it forbids is refused.

All built-in checks of the tool run: no answer of 500, status, type, headers and body as published, sound requests
accepted, others refused, unsupported methods answered 405 with a true `Allow`. The draws are the same in every run.
"""

import json

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import CheckContext
from schemathesis.core.transport import Response

from service.app import create_app
from service.settings import Settings
from service.web.problems import MEDIA_TYPE

# An order that can be read need not be one that can be drawn, nor one with a figure for a cell: that is told by a problem of
# its own; a table without the columns of an order is refused. Beside each cell there is an address that tells in words of
# whatever was sent, and refuses nothing.
NOT_DRAWABLE = {
    "operations": [
        {
            "include-path": "/v1/bench/drawing",
            "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", 422]}},
        },
        {
            "include-path": "/v1/orders/check-many",
            "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", 422]}},
        },
        {
            "include-path-regex": "^/v1/cells/why/",
            "checks": {"negative_data_rejection": {"expected-statuses": ["2xx", 422]}},
        },
        {
            "include-path-regex": "^/v1/cells/[a-z-]+$",
            "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", 422]}},
        },
    ]
}
CELLS = "^/v1/cells/"
APP = create_app(Settings(log=False))
CONFIG = schemathesis.Config.from_dict(NOT_DRAWABLE)
schema = schemathesis.openapi.from_asgi("/openapi.json", APP, config=CONFIG).exclude(path_regex=CELLS)
cells = schemathesis.openapi.from_asgi("/openapi.json", APP, config=CONFIG).exclude(path_regex=f"^(?!{CELLS[1:]})")


@schemathesis.serializer("application/x-ndjson")
def lines(_: schemathesis.SerializationContext, value: object) -> bytes:
    """Values a line: the schema says nothing of a whole stream."""
    values = value if isinstance(value, list) else [value]
    return "".join(f"{json.dumps(one)}\n" for one in values).encode()


def refusals_are_problem_documents(_: CheckContext, response: Response, case: schemathesis.Case) -> None:
    """Whatever is refused is told in one shape, and the answer repeats its own status and id."""
    if response.status_code < 400:
        return
    assert response.headers["content-type"] == [MEDIA_TYPE], case.operation.label
    document = response.json()
    assert document["status"] == response.status_code
    assert [document["request_id"]] == response.headers["x-request-id"]


@schema.parametrize()
@settings(
    derandomize=True, database=None, deadline=None, max_examples=100, suppress_health_check=[HealthCheck.too_slow]
)
def test_every_endpoint_keeps_the_published_contract(case: schemathesis.Case) -> None:
    case.call_and_validate(additional_checks=[refusals_are_problem_documents])


@cells.parametrize()
@settings(derandomize=True, database=None, deadline=None, max_examples=20, suppress_health_check=[HealthCheck.too_slow])
def test_every_cell_keeps_the_published_contract(case: schemathesis.Case) -> None:
    case.call_and_validate(additional_checks=[refusals_are_problem_documents])
