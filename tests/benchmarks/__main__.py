"""Prints the figures. All loads are interleaved in one run; read the ratios, taken within a round, before the times.

    python -m tests.benchmarks            about two minutes
    python -m tests.benchmarks --smoke    that it runs at all, a few seconds

Aims (printed beside the figures, never a pass or a fail): the check, thickness of both lenses included, at 0.5 or more
of the models alone and at 0.4 or more of a FastAPI echo; ready within 1.5 s; a catalogue within 3 times the bare sums.
"""

import argparse
import asyncio
import contextlib
import io
import os
import platform
import socket
from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from importlib.metadata import version
from statistics import median, quantiles

import uvloop

from service.checking import check
from service.documents import order_from
from service.profile.loader import load
from service.routes.context import today_utc
from tests.benchmarks import screening, stages, startup
from tests.benchmarks.load import Measured, measure, post
from tests.benchmarks.orders import example, varied
from tests.benchmarks.servers import LOAD_CORE, PATH, pin, running

VARIED = 200
MODULE = "tests.benchmarks.servers"


@dataclass(frozen=True, slots=True)
class Target:
    """One server with what is sent to it."""

    letter: str
    name: str
    port: int
    requests: list[bytes]


RATIOS = (("d", "c", 0.5), ("d", "b", 0.4), ("e", "c", 0.5), ("e", "b", 0.4), ("c", "b", None), ("b", "a", None))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description="Prints how fast the service is.")
    parser.add_argument("--rounds", type=int, default=9, help="interleaved rounds (default 9)")
    parser.add_argument("--seconds", type=float, default=1.5, help="seconds of each load in each round (default 1.5)")
    parser.add_argument("--connections", type=int, default=16, help="connections of the load (default 16)")
    parser.add_argument("--smoke", action="store_true", help="only show that it runs: the figures mean nothing")
    options = parser.parse_args()
    if options.smoke:
        options.rounds, options.seconds = 1, 0.2
    print_machine()
    print_load(options.rounds, options.seconds, options.connections)
    print_startup(1 if options.smoke else 7)
    print_stages(10 if options.smoke else 500)
    screening.print_screening(1 if options.smoke else 7, 2_000 if options.smoke else screening.FRAMES)


def print_machine() -> None:
    """What the figures hold for."""
    names = ("benchgate", "fastapi", "starlette", "pydantic", "uvicorn", "uvloop", "httptools", "numpy")
    busy = ", ".join(f"{load:.2f}" for load in os.getloadavg())
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, load before the run {busy} (1, 5, 15 minutes)")
    print(", ".join(f"{name} {version(name)}" for name in names))


def print_load(rounds: int, seconds: float, connections: int) -> None:
    """Requests per second, times, and ratios."""
    ports = {name: free_port() for name in ("raw", "framework", "models", "service")}
    one, many = [post(PATH, example())], [post(PATH, body) for body in varied(VARIED)]
    targets = (
        Target("a", "raw ASGI, fixed bytes", ports["raw"], one),
        Target("b", "FastAPI echo of the body", ports["framework"], one),
        Target("c", "contract models, no optics", ports["models"], one),
        Target("d", "the check, example order", ports["service"], one),
        Target("e", f"the check, {VARIED} orders", ports["service"], many),
    )
    with ExitStack() as servers:
        for name in ("raw", "framework", "models"):
            servers.enter_context(running(MODULE, name, str(ports[name]), port=ports[name]))
        servers.enter_context(running("service", "serve", "--port", str(ports["service"]), port=ports["service"]))
        pin(0, LOAD_CORE)
        with asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
            found = {target.letter: [] for target in targets}
            for number in range(-1, rounds):  # round -1 warms and is thrown away
                for target in targets if number % 2 else reversed(targets):
                    run = measure(target.port, target.requests, connections=connections, seconds=seconds)
                    measured = runner.run(run)
                    if number >= 0:
                        found[target.letter].append(measured)
    print(f"\nLoad: {connections} connections, {rounds} interleaved rounds of {seconds:g} s each, min / median / max\n")
    print(f"  {'':32} {'requests per second':>23} {'p50 ms':>8} {'p99 ms':>8} {'us each':>8}   load busy")
    for target in targets:
        print_target(target, found[target.letter])
    print(f"\n  the {VARIED} orders of e: {decisions(varied(VARIED))}")
    print("\nRatios of requests per second within a round, min / median / max\n")
    for above, below, aim in RATIOS:
        ratios = [up.per_second / down.per_second for up, down in zip(found[above], found[below], strict=True)]
        print(f"  {above}/{below}  {three(ratios, '.2f')}" + ("" if aim is None else f"   aim {aim:g} or more"))


def print_target(target: Target, runs: Sequence[Measured]) -> None:
    """One row of the load's table."""
    rates = [run.per_second for run in runs]
    latencies = [time for run in runs for time in run.milliseconds]
    hundredths = quantiles(latencies, n=100)
    print(
        f"  {target.letter}  {target.name:29} {three(rates, '.0f'):>23} {hundredths[49]:8.2f} {hundredths[98]:8.2f}"
        f" {1e6 / median(rates):8.0f}   {100 * median(run.busy for run in runs):.0f} %"
    )


def print_startup(times: int) -> None:
    """From nothing to the first answer."""
    print(f"\nStart-up, seconds, {times} times, min / median / max\n")
    for name, seconds in startup.imports(times).items():
        print(f"  {name:32} {three(seconds, '.2f')}")
    print(
        f"  {'serve until /readyz answers':32} {three(startup.until_ready(free_port(), times), '.2f')}   aim 1.5 or less"
    )


def print_stages(calls: int) -> None:
    """Where the time goes."""
    print(f"\nIn this process, microseconds, {stages.ROUNDS} rounds of {calls} calls\n")
    print(f"  {'':38} {'least':>8} {'median':>8}")
    for row in stages.stages(calls):
        print(f"  {row.name:38} {row.least:8.1f} {row.median:8.1f}")
    print("\nA whole request without server and socket, microseconds\n")
    with contextlib.redirect_stdout(io.StringIO()):  # the service's log lines
        rows = stages.requests(calls)
    for row in rows:
        print(f"  {row.name:38} {row.least:8.1f} {row.median:8.1f}")


def decisions(bodies: Iterable[bytes]) -> str:
    """What the service says to these orders, counted."""
    shop, today = load(None), today_utc()
    counted = Counter(check(order_from(body), shop, today).decision for body in bodies)
    return ", ".join(f"{count} {name}" for name, count in sorted(counted.items()))


def three(figures: Sequence[float], form: str) -> str:
    """Least, middle and largest."""
    return " / ".join(format(figure, form) for figure in (min(figures), median(figures), max(figures)))


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


if __name__ == "__main__":
    main()
