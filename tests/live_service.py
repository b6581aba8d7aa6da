"""The real service as a process of its own on this machine, to be called by real programs, and killed."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
START_SECONDS = 60
_KIB = 1024


class LiveService:
    """One process that can be ended and started again at the same address."""

    def __init__(self, **settings: str) -> None:
        self.port = free_port()
        self.settings = settings
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        surroundings = {name: value for name, value in os.environ.items() if not name.startswith("BENCHGATE_")}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "service", "serve", "--port", str(self.port)],
            cwd=ROOT,
            env=surroundings | {"BENCHGATE_LOG": "no"} | self.settings,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
        )
        deadline = time.monotonic() + START_SECONDS
        while time.monotonic() < deadline:
            if self.process.poll() is not None:
                raise RuntimeError(f"the service ended by itself with {self.process.returncode}")
            if self.health_ms() is not None:
                return
            time.sleep(0.02)
        raise RuntimeError(f"the service was not ready after {START_SECONDS} s")

    def health_ms(self) -> float | None:
        """How long a health check takes; None where it is not answered."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        started = time.perf_counter()
        try:
            connection.request("GET", "/healthz")
            if connection.getresponse().status != 200:
                return None
        except OSError:
            return None
        finally:
            connection.close()
        return (time.perf_counter() - started) * 1000

    def memory_mib(self) -> float:
        """Resident memory."""
        assert self.process is not None
        for line in Path(f"/proc/{self.process.pid}/status").read_text("utf-8").splitlines():
            if line.startswith("VmRSS:"):
                return int(line.split()[1]) / _KIB
        raise RuntimeError("the system does not tell the memory of a process")

    def kill(self) -> None:
        """End it at once, in the middle of whatever it does."""
        if self.process is not None and self.process.poll() is None:
            os.kill(self.process.pid, signal.SIGKILL)
            self.process.wait(10)


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port: int = taken.getsockname()[1]
        return port


@contextmanager
def live_service(**settings: str) -> Iterator[LiveService]:
    service = LiveService(**settings)
    service.start()
    try:
        yield service
    finally:
        service.kill()
