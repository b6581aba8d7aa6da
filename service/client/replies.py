"""What a reply says: the answer that was asked for, or which error it is."""

import json
import re
from collections.abc import Mapping
from html import unescape
from typing import Any

from service.client.answers import Problem, built
from service.client.errors import ClientError, Failed, NotTheService, Refused
from service.client.http import Reply

_BUSY = frozenset({429, 503})
# What a proxy answers where the service was lost on the way: to be tried again only if it says when.
_LOST = frozenset({502, 504})
_TITLE = re.compile(r"<title[^>]*>(.*?)</title", re.IGNORECASE | re.DOTALL)
_LONGEST_QUOTED = 100


def asks_to_wait(reply: Reply) -> bool:
    """Whether the same request may be sent again after a while."""
    return reply.status in _BUSY or (reply.status in _LOST and "retry-after" in reply.headers)


def request_id_of(reply: Reply, sent: str) -> str:
    """The name of the request: what the service says, else what was sent."""
    return reply.headers.get("x-request-id", sent)


def document_of(reply: Reply, member: str, sent_id: str) -> Mapping[str, Any]:
    """The document of an answer, which holds at least this member. Raises Refused, Failed or NotTheService."""
    document = _json(reply)
    if reply.status == 200 and isinstance(document, Mapping) and member in document:
        return document
    raise refusal(reply, sent_id)


def refusal(reply: Reply, sent_id: str) -> ClientError:
    """The error that a reply without the answer means."""
    request_id = request_id_of(reply, sent_id)
    document = _json(reply)
    if reply.status >= 400 and isinstance(document, Mapping) and "title" in document:
        problem = built(Problem, document)
        if reply.status < 500:
            return Refused(reply.status, problem, request_id)
        return Failed(f"{reply.status} {problem.title}: {problem.detail}", request_id)
    return NotTheService(f"{what_came(reply)} This is not the service: check the address.", request_id)


def what_came(reply: Reply) -> str:
    """A reply in words, for one that cannot be used."""
    text = reply.body.decode("utf-8", "replace")
    title = _TITLE.search(text)
    if title is not None:
        quoted = " ".join(unescape(title.group(1)).split())[:_LONGEST_QUOTED]
        return f'A page was answered (status {reply.status}, title "{quoted}").'
    if 300 <= reply.status < 400:
        return f"The way to another address was answered (status {reply.status})."
    document = _json(reply)
    if isinstance(document, Mapping) and "title" in document:
        return f"{reply.status} {document['title']}: {document.get('detail')}"
    kind = reply.kind or "no type"
    return f"A status of {reply.status} with a body of {kind} was answered."


def _json(reply: Reply) -> Any:
    if reply.kind != "application/json" and not reply.kind.endswith("+json"):
        return None
    try:
        return json.loads(reply.body)
    except ValueError:
        return None
