"""Settings are read from the environment or refused with a sentence; limits are printed as they are."""

from pathlib import Path

import pytest

from service import limits
from service.settings import VARIABLES, Settings, SettingsError, settings_from


def test_settings_are_read_from_their_variables(tmp_path: Path) -> None:
    profile = tmp_path / "shop.toml"
    profile.touch()
    environ = {
        "BENCHGATE_PROFILE": str(profile),
        "BENCHGATE_HOST": "::1",
        "BENCHGATE_PORT": "8080",
        "BENCHGATE_MAX_IN_FLIGHT": "7",
        "BENCHGATE_LOG": "No",
        "PATH": "/bin",
    }
    assert settings_from(environ) == Settings(profile_path=profile, host="::1", port=8080, max_in_flight=7, log=False)
    assert settings_from({}) == Settings()
    assert set(VARIABLES.values()) == set(Settings.__slots__)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("BENCHGATE_MAX_INFLIGHT", "7"),
        ("BENCHGATE_MAX_IN_FLIGHT", "0"),
        ("BENCHGATE_MAX_IN_FLIGHT", "many"),
        ("BENCHGATE_MAX_IN_FLIGHT", "٣"),
        ("BENCHGATE_MAX_IN_FLIGHT", "9" * 5000),
        ("BENCHGATE_PORT", "65536"),
        ("BENCHGATE_PORT", "-1"),
        ("BENCHGATE_HOST", " "),
        ("BENCHGATE_LOG", "maybe"),
        ("BENCHGATE_LOG", ""),
        ("BENCHGATE_PROFILE", "/no/such/profile.toml"),
    ],
)
def test_a_setting_that_cannot_be_used_is_named(name: str, value: str) -> None:
    with pytest.raises(SettingsError, match=name):
        settings_from({name: value})


def test_the_limits_that_are_printed_are_the_limits() -> None:
    values = {value for name, value in vars(limits).items() if name.isupper() and isinstance(value, (int, float))}
    names = [limit.name for limit in limits.LIMITS]
    assert len(names) == len(set(names))
    assert {limit.value for limit in limits.LIMITS} <= values
