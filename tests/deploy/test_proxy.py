"""The proxy's rules, run by HAProxy itself before three plain processes of the service."""

import csv
import http.client
import io
import json
import re
import subprocess
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event

import pytest
from deploy_parts import DOCKER, body_of, free_port, run, start_service, stop, tool, until, wait_for

from service.contract.order import EXAMPLE_ORDER
from service.limits import GRACEFUL_SHUTDOWN_SECONDS, MAX_IN_FLIGHT
from service.web.problems import KIND_OF, MEDIA_TYPE, TYPE_PREFIX

RULES = (DOCKER / "haproxy.cfg").read_text(encoding="utf-8")
BODY = json.dumps(EXAMPLE_ORDER)
CALLERS = 4


# For this test only: where HAProxy tells which replicas it takes for alive.
NUMBERS = """
listen numbers
    bind 127.0.0.1:{port}
    stats enable
    stats uri /
"""


class Stack:
    """HAProxy and the replicas behind it."""

    def __init__(self, folder: Path) -> None:
        self.ports = [free_port() for _ in range(3)]
        self.port, self.numbers_port = free_port(), free_port()
        rules, numbers = folder / "haproxy.cfg", folder / "numbers.cfg"
        rules.write_text(on_loopback(self.port, self.ports), encoding="utf-8")
        numbers.write_text(NUMBERS.format(port=self.numbers_port), encoding="utf-8")
        self.command = [tool("haproxy"), "-db", "-f", str(rules), "-f", str(numbers)]
        self.processes: list[subprocess.Popen[bytes]] = []

    def start(self) -> None:
        self.processes += [start_service(port) for port in self.ports]
        for replica, port in zip(self.processes, self.ports, strict=True):
            wait_for(replica, port, "/readyz")
        quiet = subprocess.DEVNULL
        self.processes.append(subprocess.Popen(self.command, stdin=quiet, stdout=quiet, stderr=quiet))
        wait_for(self.processes[-1], self.port, "/readyz")

    def stop_replica(self, number: int) -> None:
        stop(self.processes[number])

    def restart(self, number: int) -> None:
        """Restart one replica, and wait until the proxy has seen it: as a careful person would."""
        self.stop_replica(number)
        self.processes[number] = start_service(self.ports[number])
        wait_for(self.processes[number], self.ports[number], "/readyz")
        until(lambda: self.replicas_up() == 3)

    def replicas_up(self) -> int:
        names, *rows = csv.reader(io.StringIO(body_of(self.numbers_port, "/;csv").decode()))
        server, status = names.index("svname"), names.index("status")
        return sum(row[server].startswith("replica-") and row[status] == "UP" for row in rows)

    def end(self) -> None:
        for process in reversed(self.processes):
            stop(process)


def on_loopback(port: int, replicas: list[int]) -> str:
    """The shipped rules, with the addresses of this machine in place of the containers' and nothing else changed."""
    text = RULES.replace("bind :8080", f"bind 127.0.0.1:{port}")
    for number, replica in enumerate(replicas, start=1):
        text = text.replace(f"replica-{number}:8000", f"127.0.0.1:{replica}")
    assert text.count("127.0.0.1:") == 4
    return text


@pytest.fixture
def stack(tmp_path: Path) -> Iterator[Stack]:
    made = Stack(tmp_path)
    try:
        made.start()
        yield made
    finally:
        made.end()


def keep_asking(port: int, enough: Event) -> list[tuple[int, bytes]]:
    """Check the example over one connection until there is enough; whatever goes wrong is an answer too."""
    answers = []
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    while not enough.is_set():
        try:
            connection.request("POST", "/v1/orders/check", BODY, {"Content-Type": "application/json"})
            response = connection.getresponse()
            answers.append((response.status, response.read()))
        except (OSError, http.client.HTTPException) as error:
            answers.append((0, repr(error).encode()))
            connection.close()
    connection.close()
    return answers


def test_haproxy_takes_the_rules() -> None:
    result = run(tool("haproxy"), "-c", "-f", str(DOCKER / "haproxy.cfg"))
    assert result.returncode == 0, result.stdout + result.stderr


def rule(*words: str) -> str:
    """The word that follows these words in one line of the rules."""
    (found,) = re.findall(rf"^[^#\n]*\b{' '.join(words)} (\S+)", RULES, re.MULTILINE)
    return str(found)


def test_the_proxy_sends_a_replica_no_more_than_it_takes_and_waits_longer_than_it_needs_to_stop() -> None:
    assert int(rule("fall", "1", "rise", "2", "maxconn")) <= MAX_IN_FLIGHT
    assert int(rule("timeout", "server").removesuffix("s")) > GRACEFUL_SHUTDOWN_SECONDS


def test_no_request_fails_and_no_answer_differs_while_every_replica_is_restarted_in_turn(stack: Stack) -> None:
    enough = Event()
    with ThreadPoolExecutor(CALLERS) as callers:
        asked = [callers.submit(keep_asking, stack.port, enough) for _ in range(CALLERS)]
        try:
            for number in range(3):
                stack.restart(number)
        finally:
            enough.set()
        answers = [answer for caller in asked for answer in caller.result()]
    failed = [answer for answer in answers if answer[0] != 200]
    print(f"{len(answers)} requests over three restarts, {len(failed)} failed")
    assert len(answers) >= 300
    assert not failed, failed[:3]
    assert len({body for _, body in answers}) == 1


def test_without_a_replica_the_proxy_answers_a_problem_and_is_alive_itself(stack: Stack) -> None:
    for number in range(3):
        stack.stop_replica(number)
    connection = http.client.HTTPConnection("127.0.0.1", stack.port, timeout=30)
    connection.request("POST", "/v1/orders/check", BODY, {"Content-Type": "application/json"})
    response = connection.getresponse()
    document = json.loads(response.read())
    connection.close()
    assert response.status == document["status"] == 503
    assert response.headers["Content-Type"] == MEDIA_TYPE
    assert response.headers["Retry-After"] == "1"
    assert document["type"] == f"{TYPE_PREFIX}not-ready"
    assert document["title"] == KIND_OF["not-ready"].title
    assert body_of(stack.port, "/proxy-alive")
