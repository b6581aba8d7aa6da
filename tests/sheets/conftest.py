"""No setting of the surroundings reaches a test."""

import os

import pytest


@pytest.fixture(autouse=True)
def no_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in list(os.environ):
        if name.startswith("BENCHGATE_"):
            monkeypatch.delenv(name)
