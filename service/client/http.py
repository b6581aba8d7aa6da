"""The one place that knows the library which speaks HTTP: a call in; a reply, its parts, or what went wrong, out."""

from collections.abc import AsyncIterator, Iterator, Mapping
from dataclasses import dataclass

import httpx

# Types of a body that is read while it comes.
STREAMS = ("application/x-ndjson",)


@dataclass(frozen=True)
class Call:
    """What is sent."""

    path: str
    headers: Mapping[str, str]
    body: bytes


@dataclass(frozen=True)
class Reply:
    """What came: status, headers (names in small letters), and the body unless it is a stream."""

    status: int
    headers: Mapping[str, str]
    body: bytes = b""

    @property
    def kind(self) -> str:
        """The type of the body."""
        return self.headers.get("content-type", "").partition(";")[0].strip().lower()

    @property
    def is_stream(self) -> bool:
        """Whether its body is still to be read in parts."""
        return self.status == 200 and self.kind in STREAMS


@dataclass(frozen=True)
class Trouble:
    """Why nothing came, and whether another try may help."""

    what: str
    may_retry: bool


@dataclass(frozen=True)
class Place:
    """Where the service is, how long a connection may take, and how long each wait for bytes."""

    address: str
    connect_s: float
    read_s: float

    @property
    def timeout(self) -> httpx.Timeout:
        """The waits as the library has them."""
        return httpx.Timeout(self.read_s, connect=self.connect_s)

    def url(self, path: str) -> str:
        """The address of an endpoint."""
        return self.address.rstrip("/") + path

    def trouble(self, error: Exception) -> Trouble:
        """What an error of the library means. Never the text of an address that may hold a password."""
        if isinstance(error, (httpx.ConnectTimeout, httpx.PoolTimeout)):
            return Trouble(f"There was no connection within {self.connect_s:g} s.", may_retry=True)
        if isinstance(error, httpx.ConnectError):
            return Trouble(f"There is no connection to the service ({error}).", may_retry=True)
        if isinstance(error, httpx.TimeoutException):
            return Trouble(f"Nothing came within {self.read_s:g} s.", may_retry=False)
        if isinstance(error, (httpx.NetworkError, httpx.RemoteProtocolError)):
            return Trouble("The connection was lost.", may_retry=True)
        return Trouble(f"The request could not be sent ({type(error).__name__}). Check the address.", may_retry=False)


_ERRORS = (httpx.HTTPError, httpx.InvalidURL)


class Http:
    """Calls to one place, one at a time for each stream."""

    def __init__(self, place: Place) -> None:
        self._place = place
        self._client = httpx.Client(timeout=place.timeout)

    def exchange(self, call: Call) -> "Reply | Trouble":
        """The whole reply to a call."""
        opened = self.opened(call)
        opened.close()
        return opened.reply

    def opened(self, call: Call) -> "Opened":
        """The reply to a call; that of a stream is read in parts. Close it."""
        try:
            url = self._place.url(call.path)
            request = self._client.build_request("POST", url, headers=dict(call.headers), content=call.body)
            response = self._client.send(request, stream=True)
        except _ERRORS as error:
            return Opened(self._place, self._place.trouble(error), None)
        try:
            reply = _head(response)
            return Opened(self._place, reply if reply.is_stream else _whole(response, response.read()), response)
        except _ERRORS as error:
            response.close()
            return Opened(self._place, self._place.trouble(error), None)

    def close(self) -> None:
        """Done with the place."""
        self._client.close()


class Opened:
    """A reply that is under way."""

    def __init__(self, place: Place, reply: Reply | Trouble, response: httpx.Response | None) -> None:
        self.reply = reply
        self._place, self._response = place, response
        self._parts: Iterator[bytes] | None = None

    def part(self) -> bytes | Trouble | None:
        """The next part; None after the last."""
        if self._response is None:
            return None
        try:
            self._parts = self._parts or self._response.iter_bytes()
            return next(self._parts, None)
        except _ERRORS as error:
            return self._place.trouble(error)

    def close(self) -> None:
        """Done with the reply."""
        if self._response is not None:
            self._response.close()


class AsyncHttp:
    """The same for programs with an event loop."""

    def __init__(self, place: Place) -> None:
        self._place = place
        self._client = httpx.AsyncClient(timeout=place.timeout)

    async def exchange(self, call: Call) -> "Reply | Trouble":
        """The whole reply to a call."""
        opened = await self.opened(call)
        await opened.close()
        return opened.reply

    async def opened(self, call: Call) -> "AsyncOpened":
        """The reply to a call; that of a stream is read in parts. Close it."""
        try:
            url = self._place.url(call.path)
            request = self._client.build_request("POST", url, headers=dict(call.headers), content=call.body)
            response = await self._client.send(request, stream=True)
        except _ERRORS as error:
            return AsyncOpened(self._place, self._place.trouble(error), None)
        try:
            reply = _head(response)
            return AsyncOpened(
                self._place, reply if reply.is_stream else _whole(response, await response.aread()), response
            )
        except _ERRORS as error:
            await response.aclose()
            return AsyncOpened(self._place, self._place.trouble(error), None)

    async def close(self) -> None:
        """Done with the place."""
        await self._client.aclose()


class AsyncOpened:
    """A reply that is under way."""

    def __init__(self, place: Place, reply: Reply | Trouble, response: httpx.Response | None) -> None:
        self.reply = reply
        self._place, self._response = place, response
        self._parts: AsyncIterator[bytes] | None = None

    async def part(self) -> bytes | Trouble | None:
        """The next part; None after the last."""
        if self._response is None:
            return None
        try:
            self._parts = self._parts or self._response.aiter_bytes()
            return await anext(self._parts, None)
        except _ERRORS as error:
            return self._place.trouble(error)

    async def close(self) -> None:
        """Done with the reply."""
        if self._response is not None:
            await self._response.aclose()


def _head(response: httpx.Response) -> Reply:
    return Reply(response.status_code, {name.lower(): value for name, value in response.headers.items()})


def _whole(response: httpx.Response, body: bytes) -> Reply:
    return Reply(response.status_code, _head(response).headers, body)
