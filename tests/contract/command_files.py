"""What the tests of the command line share: no settings of this machine, files of orders and of a trace."""

import json
import math
import os
from pathlib import Path
from typing import Any

import pytest

from service.contract.order import EXAMPLE_ORDER

ROOT = Path(__file__).resolve().parents[2]
ACCEPTED = {**EXAMPLE_ORDER, "frame": {"a_mm": 54, "b_mm": 40, "dbl_mm": 18, "rim": "full"}}
DOUBTFUL = {**ACCEPTED, "wearer": {"age_years": 9}}
REJECTED = {**ACCEPTED, "lens": {"material": "polycarbonate", "use": "distance", "blank_diameter_mm": 52}}
POINTS = [(27 * math.cos(2 * math.pi * number / 72), 20 * math.sin(2 * math.pi * number / 72)) for number in range(72)]
TRACE = "x_mm,y_mm\n" + "\n".join(f"{x!r},{y!r}" for x, y in POINTS)
Printed = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def no_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in list(os.environ):
        if name.startswith("BENCHGATE_"):
            monkeypatch.delenv(name)


@pytest.fixture
def written(tmp_path: Path) -> Any:
    def write(content: object, name: str = "order.json") -> str:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else json.dumps(content).encode())
        return str(path)

    return write
