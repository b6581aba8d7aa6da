"""How long it takes from nothing to the first answer."""

import subprocess
import sys
import time

from tests.benchmarks.servers import ROOT, start, stop, wait_ready

IMPORTS = {"the interpreter alone": "pass", "with FastAPI": "import fastapi", "with the service": "import service.app"}


def until_ready(port: int, times: int) -> list[float]:
    """Seconds from the start of `python -m service serve` until /readyz answers 200."""
    found = []
    for _ in range(times):
        started = time.perf_counter()
        process = start("service", "serve", "--port", str(port))
        try:
            wait_ready(process, port)
            found.append(time.perf_counter() - started)
        finally:
            stop(process)
    return found


def imports(times: int) -> dict[str, list[float]]:
    """Seconds of a process that imports and ends."""
    found: dict[str, list[float]] = {name: [] for name in IMPORTS}
    for _ in range(times):
        for name, code in IMPORTS.items():
            started = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, stdin=subprocess.DEVNULL)
            found[name].append(time.perf_counter() - started)
    return found
