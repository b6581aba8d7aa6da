"""A server that answers what a test wrote down, one reply after the other, and keeps what it was sent."""

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any


@dataclass
class Said:
    """A reply: `cut` closes the connection after the body, which is announced as longer; `silent` closes it at once."""

    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    cut: bool = False
    silent: bool = False


@dataclass
class Script:
    """What is to be said, and what was heard."""

    replies: list[Said]
    port: int = 0
    heard: list[tuple[dict[str, str], bytes]] = field(default_factory=list)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


@contextmanager
def scripted(replies: Sequence[Said]) -> Iterator[Script]:
    script = Script(list(replies))

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("content-length", 0)))
            script.heard.append(({name.lower(): value for name, value in self.headers.items()}, body))
            said = script.replies.pop(0)
            self.close_connection = said.cut or said.silent
            if said.silent:
                return
            self.send_response(said.status)
            for name, value in said.headers.items():
                self.send_header(name, value)
            self.send_header("content-length", str(len(said.body) + 100 * said.cut))
            self.end_headers()
            with suppress(OSError):  # a caller need not wait for it
                self.wfile.write(said.body)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    script.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield script
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)
