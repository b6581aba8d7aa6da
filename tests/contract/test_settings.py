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
        "BENCHGATE_ALLOW_ORIGINS": "https://shop.example, http://127.0.0.1:8080",
        "BENCHGATE_DEMO": "yes",
        "PATH": "/bin",
    }
    assert settings_from(environ) == Settings(
        profile_path=profile,
        host="::1",
        port=8080,
        max_in_flight=7,
        log=False,
        allow_origins=("https://shop.example", "http://127.0.0.1:8080"),
        demo=True,
    )
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
        ("BENCHGATE_DEMO", "perhaps"),
        ("BENCHGATE_ALLOW_ORIGINS", "*"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop.example, *"),
        ("BENCHGATE_ALLOW_ORIGINS", ""),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop.example,"),
        ("BENCHGATE_ALLOW_ORIGINS", "shop.example"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop.example/"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop.example/form"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://Shop.example"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop.example:443"),
        ("BENCHGATE_ALLOW_ORIGINS", "http://shop.example:80"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://*.shop.example"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://me@shop.example"),
        ("BENCHGATE_ALLOW_ORIGINS", "ftp://shop.example"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop.example:port"),
        ("BENCHGATE_ALLOW_ORIGINS", "https://shop example"),
        ("BENCHGATE_ALLOW_ORIGINS", "null"),
        ("BENCHGATE_PROFILE", "/no/such/profile.toml"),
    ],
)
def test_a_setting_that_cannot_be_used_is_named(name: str, value: str) -> None:
    with pytest.raises(SettingsError, match=name):
        settings_from({name: value})


@pytest.mark.parametrize(
    "origin", ["https://shop.example", "http://localhost:5173", "http://127.0.0.1:8080", "http://[::1]:8080"]
)
def test_an_origin_is_taken_as_a_browser_sends_it(origin: str) -> None:
    assert settings_from({"BENCHGATE_ALLOW_ORIGINS": origin}).allow_origins == (origin,)


def test_a_star_is_refused_with_what_it_would_do() -> None:
    with pytest.raises(SettingsError, match="Pages of any host could then send orders"):
        settings_from({"BENCHGATE_ALLOW_ORIGINS": "*"})


def test_the_limits_that_are_printed_are_the_limits() -> None:
    values = {value for name, value in vars(limits).items() if name.isupper() and isinstance(value, (int, float))}
    names = [limit.name for limit in limits.LIMITS]
    assert len(names) == len(set(names))
    assert {limit.value for limit in limits.LIMITS} <= values
