"""What can go wrong, by what the caller can do about it. Every message names the request."""

from service.client.answers import Problem


class ClientError(Exception):
    """Whatever a call may raise. `request_id` names the request in the log of the service, `what` is told without it."""

    def __init__(self, message: str, request_id: str) -> None:
        super().__init__(f"{message} [request {request_id}]")
        self.what = message
        self.request_id = request_id


class Refused(ClientError):  # noqa: N818 - named for what happened
    """The service read the request and refused it: sent again as it is, it would be refused again."""

    def __init__(self, status: int, problem: Problem, request_id: str) -> None:
        told = "; ".join(_fault(fault.pointer, fault.message) for fault in problem.errors)
        super().__init__(f"{status} {problem.title}: {told or problem.detail}", request_id)
        self.status = status
        self.problem = problem


class Failed(ClientError):  # noqa: N818
    """The service failed at the request (a status of 500 or above): report the request to whoever runs it."""


class Unavailable(ClientError):  # noqa: N818
    """The service could not be reached, is busy, or did not answer in time, also when tried again."""


class NotTheService(ClientError):  # noqa: N818
    """Something else answered, such as the page of a proxy: check the address."""


class CutShort(ClientError):  # noqa: N818
    """A stream of answers ended before its end. `last_done` is the index of the last order that was answered;
    `check_many(orders, start=error.next_index)` goes on with the next. The cause is what went wrong.
    """

    def __init__(self, why: str, *, last_done: int, next_index: int, request_id: str) -> None:
        told = f"The orders up to index {last_done} were answered, then the stream was cut: {why}"
        super().__init__(f"{told} Go on with start={next_index}.", request_id)
        self.last_done = last_done
        self.next_index = next_index


def _fault(pointer: str | None, message: str | None) -> str:
    return f"{pointer}: {message}" if pointer else str(message)
