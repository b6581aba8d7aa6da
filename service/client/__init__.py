"""A client of the service, to be used from other programs: it needs httpx and nothing else of this project.

    from service.client import Client

    with Client("http://127.0.0.1:8000") as client:
        answer = client.check(order)
        for index, answer in client.check_many(orders):
            ...

Every call may be sent again without harm, since the service keeps nothing. Connecting may take 5 s and each wait for
bytes 30 s, unless the client is told otherwise. A service that cannot be reached, is busy (503) or asks to wait (429) is
tried again, at most three times, after a pause of at most 10 s each time that grows, is drawn by lot, and is never
shorter than what the service asks for within those 10 s.
"""

from service.client.answers import (
    Assumption,
    Blank,
    Caution,
    CheckAnswer,
    CompareAnswer,
    Decentration,
    Engine,
    EyeFit,
    EyeReading,
    Fault,
    Finding,
    Fit,
    InspectAnswer,
    Prescription,
    Problem,
    ReadAnswer,
    Remedy,
)
from service.client.calls import AsyncClient, Client
from service.client.errors import ClientError, CutShort, Failed, NotTheService, Refused, Unavailable
from service.client.patience import Patience

__all__ = [
    "Assumption",
    "AsyncClient",
    "Blank",
    "Caution",
    "CheckAnswer",
    "Client",
    "ClientError",
    "CompareAnswer",
    "CutShort",
    "Decentration",
    "Engine",
    "EyeFit",
    "EyeReading",
    "Failed",
    "Fault",
    "Finding",
    "Fit",
    "InspectAnswer",
    "NotTheService",
    "Patience",
    "Prescription",
    "Problem",
    "ReadAnswer",
    "Refused",
    "Remedy",
    "Unavailable",
]
