"""What the tests of the order form share: a service that misbehaves as told, and a watched page."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from chromium import POLICY_HEARD

from service.demo import MEDIA_TYPES

FORM = Path(__file__).resolve().parents[2] / "openapi_examples" / "order_form"


@dataclass
class Watched:
    """A page with the form, and all that it asked for and complained of."""

    page: Any
    base: str
    asked: list[Any] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def fill(self, **values: str) -> None:
        """Type into fields, named by their id with underscores for dashes."""
        for name, value in values.items():
            self.page.fill(f"#{name.replace('_', '-')}", value)

    def send(self) -> None:
        """Press the button and wait until something is told."""
        self.page.click("#send")
        self.settled()

    def until(self, expression: str) -> None:
        """Wait until something is so; the page's policy forbids the driver's own way of waiting."""
        for _ in range(500):
            if self.page.evaluate(expression):
                return
            self.page.wait_for_timeout(20)
        raise AssertionError(f"it did not come to this: {expression}")

    def failure(self) -> str:
        """What is said where no answer came."""
        self.until("document.getElementById('failure').textContent !== ''")
        return self.text("#failure")

    def settled(self) -> None:
        """Wait until the answer is shown, and the drawing, where there is one."""
        self.page.wait_for_selector("#order:not([aria-busy])")

    def text(self, selector: str) -> str:
        """What is read at a place."""
        return str(self.page.inner_text(selector)).strip()

    def problem(self, place: str) -> tuple[str, str]:
        """The gravest problem of a field or group that is described there: its gravity and all its words."""
        return tuple(  # type: ignore[return-value]
            self.page.evaluate(
                """id => {
                    const ids = (document.getElementById(id).getAttribute('aria-describedby') ?? '').split(' ');
                    const one = ids.map(id => document.getElementById(id)).find(e => e?.classList.contains('problem'));
                    return one ? [one.className.replace('problem ', ''), one.textContent] : ['', ''];
                }""",
                place,
            )
        )

    @property
    def state(self) -> str:
        """The decision that the banner shows; empty where there is none."""
        return str(
            self.page.evaluate("(r => r.hidden ? '' : r.dataset.state)(document.getElementById('result'))") or ""
        )


@dataclass
class Stub:
    """Serves the form's files with words replaced, and answers what is posted as told."""

    replaced: dict[str, str]
    status: int = 200
    kind: str = "text/html"
    body: bytes = b"<html>an answer of somebody else</html>"
    wait_seconds: float = 0.0
    base: str = ""
    released: threading.Event = field(default_factory=threading.Event)


@contextmanager
def stubbed(stub: Stub) -> Iterator[Stub]:
    """The stub at work on a free port."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            name = self.path.removeprefix("/demo/") or "index.html"
            if name not in MEDIA_TYPES:
                self.send_error(404)
                return
            text = (FORM / name).read_text("utf-8")
            for before, after in stub.replaced.items():
                text = text.replace(before, after)
            self._answer(200, MEDIA_TYPES[name], text.encode())

        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            stub.released.wait(stub.wait_seconds)
            try:
                self._answer(stub.status, stub.kind, stub.body)
            except OSError:  # who asked has gone
                self.close_connection = True

        def _answer(self, status: int, kind: str, body: bytes) -> None:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Nothing: what is asked is an order."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    stub.base = f"http://127.0.0.1:{server.server_port}"
    try:
        yield stub
    finally:
        stub.released.set()
        server.shutdown()
        thread.join()
        server.server_close()


@contextmanager
def opened(browser: Any, base: str, **options: Any) -> Iterator[Watched]:
    """The form of a service in a fresh context, watched."""
    context = browser.new_context(**{"locale": "en-GB", "viewport": {"width": 1200, "height": 900}, **options})
    page = context.new_page()
    page.set_default_timeout(10_000)
    seen = Watched(page, base)
    page.on("request", lambda request: seen.asked.append(request))  # noqa: PLW0108 - the driver marks what it is given
    page.on("console", lambda message: seen.said.append(message.text))
    page.on("pageerror", lambda error: seen.said.append(str(error)))
    page.add_init_script(POLICY_HEARD)
    page.goto(f"{base}/demo/")
    try:
        yield seen
    finally:
        context.close()
