"""What the deploy tests share: the files, their tools, pins, and copies of the service as plain processes."""

import http.client
import os
import shutil
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[2]
DOCKER = ROOT / "docker"
LOCKS = ("requirements.lock", "build-requirements.lock")
START_SECONDS = 30


def tool(name: str) -> str:
    """Path of a command, beside this Python or on the path; without it the test is skipped, but never in CI."""
    beside = Path(sys.executable).parent / name
    found = str(beside) if beside.is_file() else shutil.which(name) or shutil.which(name, path="/usr/sbin")
    if found is not None:
        return found
    if os.environ.get("CI"):
        pytest.fail(f"{name} is not installed, and in CI no deploy file goes unchecked")
    pytest.skip(
        f"{name} is not installed: what it checks was not checked (see the extra 'lint', or the system's packages)"
    )


def run(*command: str, **more: Any) -> subprocess.CompletedProcess[str]:
    """Run a tool to its end, without input."""
    return subprocess.run(
        command, check=False, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=60, **more
    )


def project() -> dict[str, Any]:
    """What pyproject.toml says."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Pin:
    """One package of a lock."""

    requirement: Requirement
    version: Version
    hashes: tuple[str, ...]


def pins(lock: str) -> list[Pin]:
    """The packages of a lock."""
    text = (DOCKER / lock).read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    rows = "\n".join(lines).replace("\\\n", " ").splitlines()
    found = []
    for row in rows:
        asked, *hashes = row.split("--hash=")
        requirement = Requirement(asked.strip())
        (exactly,) = requirement.specifier
        assert exactly.operator == "==", row
        found.append(Pin(requirement, Version(exactly.version), tuple(text.strip() for text in hashes)))
    return found


@dataclass(frozen=True, slots=True)
class Instruction:
    """One instruction of a Dockerfile, continued lines joined."""

    name: str
    text: str


def instructions() -> list[Instruction]:
    """The Dockerfile, taken apart."""
    lines = (DOCKER / "Dockerfile").read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if line.strip() and not line.lstrip().startswith("#")]
    rows = "\n".join(kept).replace("\\\n", " ").splitlines()
    return [Instruction(name.upper(), text.strip()) for name, _, text in (row.partition(" ") for row in rows)]


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def clean_environment() -> dict[str, str]:
    """The environment without settings of the service that happen to be set."""
    return {name: value for name, value in os.environ.items() if not name.startswith("BENCHGATE_")}


def start_service(port: int) -> subprocess.Popen[bytes]:
    """Start a copy of the service; `wait_for` tells when it is ready."""
    return subprocess.Popen(
        [sys.executable, "-m", "service", "serve", "--port", str(port)],
        cwd=ROOT,
        env=clean_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    )


def until(is_so: Callable[[], bool]) -> None:
    """Wait until something is so, but not for ever."""
    deadline = time.monotonic() + START_SECONDS
    while not is_so():
        if time.monotonic() > deadline:
            pytest.fail(f"still not so after {START_SECONDS} s")
        time.sleep(0.05)


def wait_for(process: subprocess.Popen[bytes], port: int, path: str) -> None:
    """Wait until a process that was started answers 200 at a path."""

    def answers() -> bool:
        assert process.poll() is None, f"the process ended by itself with {process.returncode}"
        try:
            return bool(body_of(port, path))
        except (OSError, http.client.HTTPException):
            return False

    until(answers)


def body_of(port: int, path: str) -> bytes:
    """What a GET on this machine answers with status 200; empty for any other."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        connection.request("GET", path)
        response = connection.getresponse()
        body = response.read()
        return body if response.status == 200 else b""
    finally:
        connection.close()


def stop(process: subprocess.Popen[bytes]) -> None:
    """Ask a process that was started to end, and wait for it."""
    process.terminate()
    try:
        process.wait(20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


@contextmanager
def running_service() -> Iterator[int]:
    """A copy of the service on a free port, ended afterwards."""
    port = free_port()
    process = start_service(port)
    try:
        wait_for(process, port, "/readyz")
        yield port
    finally:
        stop(process)
