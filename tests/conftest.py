"""What every test may lean on: the real application, and the open data that stand beside the project."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.settings import Settings

SHARED = Path(__file__).resolve().parents[2] / "shared"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder with open data; what needs it is skipped where it is absent."""
    folder = SHARED / "data"
    if not folder.is_dir():
        pytest.skip("the open data are not on this machine (folder 'shared/data' beside the project)")
    return folder


@pytest.fixture(scope="session")
def service() -> Iterator[TestClient]:
    """The real application, as a shop calls it."""
    with TestClient(create_app(Settings(log=False))) as client:
        yield client
