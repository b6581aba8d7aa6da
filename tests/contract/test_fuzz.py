"""The published contract, tried with requests made from it: what it allows is answered, what it forbids is refused.

All built-in checks of the tool run: no answer of 500, status, type, headers and body as published, sound requests
accepted, others refused, unsupported methods answered 405 with a true `Allow`. The draws are the same in every run.
"""

import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import CheckContext
from schemathesis.core.transport import Response

from service.app import create_app
from service.settings import Settings
from service.web.problems import MEDIA_TYPE

# An order that can be read need not be one that can be drawn: that is told by a problem of its own.
NOT_DRAWABLE = {
    "operations": [
        {
            "include-path": "/v1/bench/drawing",
            "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", 422]}},
        }
    ]
}
schema = schemathesis.openapi.from_asgi(
    "/openapi.json", create_app(Settings(log=False)), config=schemathesis.Config.from_dict(NOT_DRAWABLE)
)


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
    derandomize=True, database=None, deadline=None, max_examples=250, suppress_health_check=[HealthCheck.too_slow]
)
def test_every_endpoint_keeps_the_published_contract(case: schemathesis.Case) -> None:
    case.call_and_validate(additional_checks=[refusals_are_problem_documents])
