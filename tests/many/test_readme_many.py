"""What the README says to type works as it stands there; only the port is that of the test's own service."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from live_service import live_service

ROOT = Path(__file__).resolve().parents[2]


def block(marker: str) -> str:
    found = re.search(rf"<!-- {marker} -->\n```\w*\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.DOTALL)
    assert found is not None, marker
    return found.group(1)


def test_the_commands_and_the_program_of_the_readme_work() -> None:
    if shutil.which("curl") is None:
        pytest.skip("curl is not on this machine")
    with live_service() as service:
        address = f"127.0.0.1:{service.port}"
        stream, table = (
            subprocess.run(
                command.replace("127.0.0.1:8000", address), shell=True, cwd=ROOT, check=True, capture_output=True, text=True,
                timeout=60,
            ).stdout.splitlines()
            for command in block("many-commands").splitlines()
        )  # fmt: skip
        assert ['"answer"' in line for line in stream] == [True, True, False, True, False]
        assert '"pointer":"/prescription/right/sphere"' in stream[2]
        assert stream[-1].startswith('{"end":{"rows":4,')
        assert "benchgate: decision" in table[0]
        assert len(table) > 4
        program = block("client-program").replace("127.0.0.1:8000", address)
        done = subprocess.run(
            [sys.executable, "-c", program], cwd=ROOT, check=True, capture_output=True, text=True, timeout=60
        )
        first, *rows = done.stdout.splitlines()
        assert first == "accept"
        assert rows[0].split()[:2] == ["0", "accept"]
        assert rows[2].startswith("2 unreadable ['not-a-number']")
        assert len(rows) == 4


def test_the_screening_of_the_readme_works() -> None:
    if shutil.which("curl") is None:
        pytest.skip("curl is not on this machine")
    with live_service() as service:
        command = block("screen-command").replace("127.0.0.1:8000", f"127.0.0.1:{service.port}")
        done = subprocess.run(command, shell=True, cwd=ROOT, check=True, capture_output=True, text=True, timeout=60)
    answer = json.loads(done.stdout)
    assert answer["counts"]["frames"] == 4
    assert [frame["id"] for frame in answer["frames"]] == ["round-46", "narrow-52", "rimless-54"]
