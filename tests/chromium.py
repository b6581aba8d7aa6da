"""A real browser that reaches nobody but this machine, and a service of this very code for it to look at.

Tests that lean on this are skipped where Chromium is absent, but not in CI.
"""

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import uvicorn

from service.app import create_app
from service.settings import Settings

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("chromium is not installed: nothing was tried in a browser", allow_module_level=True)
playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

# Quiet in the background, and no name is resolved but the loopback address: what asks for another host fails.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
]
POLICY_HEARD = (
    "document.addEventListener('securitypolicyviolation',"
    " e => console.error('policy: ' + e.violatedDirective + ' ' + e.blockedURI))"
)


@contextmanager
def serving(settings: Settings) -> Iterator[str]:
    """Address of a service of this very code, on a free port of this machine."""
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(create_app(settings), log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    while not server.started and thread.is_alive():
        time.sleep(0.01)
    assert server.started
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
        listener.close()


@contextmanager
def browsing() -> Iterator[Any]:
    """A browser."""
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()
