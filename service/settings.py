"""Settings from the environment: one prefix, every name known, every value read or refused with a sentence."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from service import limits

PREFIX: Final = "BENCHGATE_"
_USUAL_PORTS: Final = {"http": "80", "https": "443"}
_ORIGIN: Final = re.compile(
    r"(?P<scheme>https?)://(?:[a-z0-9]+(?:[.-]+[a-z0-9]+)*|\[[0-9a-f:.]+\])(?::(?P<port>0|[1-9][0-9]{0,4}))?"
)
_YES_NO: Final = {"1": True, "yes": True, "true": True, "0": False, "no": False, "false": False}


class SettingsError(ValueError):
    """A setting that cannot be used; the text names the variable, what was read and what to do."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What may differ between two installations of the same version."""

    profile_path: Path | None = None
    host: str = "127.0.0.1"
    port: int = 8000
    max_in_flight: int = limits.MAX_IN_FLIGHT
    log: bool = True
    allow_origins: tuple[str, ...] = ()
    demo: bool = False


# Variable to the field it fills. The one list of what may be set.
VARIABLES: Final[Mapping[str, str]] = {
    f"{PREFIX}PROFILE": "profile_path",
    f"{PREFIX}HOST": "host",
    f"{PREFIX}PORT": "port",
    f"{PREFIX}MAX_IN_FLIGHT": "max_in_flight",
    f"{PREFIX}LOG": "log",
    f"{PREFIX}ALLOW_ORIGINS": "allow_origins",
    f"{PREFIX}DEMO": "demo",
}


def settings_from(environ: Mapping[str, str]) -> Settings:
    """Settings named in an environment; what is not named keeps its default."""
    given = {name: value for name, value in environ.items() if name.startswith(PREFIX)}
    unknown = sorted(given.keys() - VARIABLES.keys())
    if unknown:
        raise SettingsError(f"{unknown[0]} is not a setting. Known are {', '.join(VARIABLES)}.")
    usual = Settings()
    return Settings(
        profile_path=_file(given, f"{PREFIX}PROFILE"),
        host=_text(given, f"{PREFIX}HOST", usual.host),
        port=_whole_number(given, f"{PREFIX}PORT", usual.port, least=1, most=65_535),
        max_in_flight=_whole_number(given, f"{PREFIX}MAX_IN_FLIGHT", usual.max_in_flight, least=1, most=100_000),
        log=_yes_or_no(given, f"{PREFIX}LOG", usual.log),
        allow_origins=_origins(given, f"{PREFIX}ALLOW_ORIGINS"),
        demo=_yes_or_no(given, f"{PREFIX}DEMO", usual.demo),
    )


def _file(given: Mapping[str, str], name: str) -> Path | None:
    if name not in given:
        return None
    path = Path(given[name])
    if not path.is_file():
        raise SettingsError(f"{name} names {given[name]!r}, where no file was found. Give the path of a profile.")
    return path


def _text(given: Mapping[str, str], name: str, usual: str) -> str:
    value = given.get(name, usual)
    if not value.strip():
        raise SettingsError(f"{name} is empty. Give a value, or leave the variable out for {usual!r}.")
    return value


def _whole_number(given: Mapping[str, str], name: str, usual: int, *, least: int, most: int) -> int:
    value = given.get(name)
    if value is None:
        return usual
    if not (value.isascii() and value.isdigit() and len(value) <= 9 and least <= int(value) <= most):
        raise SettingsError(f"{name} reads {value!r}. A whole number from {least} to {most} is expected.")
    return int(value)


def _origins(given: Mapping[str, str], name: str) -> tuple[str, ...]:
    """Origins as browsers send them: each is compared whole, so what no browser sends would silently allow nobody."""
    if name not in given:
        return ()
    origins = tuple(part.strip() for part in given[name].split(","))
    for origin in origins:
        if origin == "*":
            raise SettingsError(
                f"{name} reads '*'. Pages of any host could then send orders. Name the origins, such as "
                "https://shop.example, parted by commas."
            )
        if not _is_origin(origin):
            raise SettingsError(
                f"{name} names {origin!r}. An origin is expected as browsers send it: http or https, the host in small "
                "letters, a port only where it is not the usual one, nothing after it. An example is https://shop.example."
            )
    return origins


def _is_origin(text: str) -> bool:
    found = _ORIGIN.fullmatch(text)
    return found is not None and found["port"] not in ("0", _USUAL_PORTS[found["scheme"]])


def _yes_or_no(given: Mapping[str, str], name: str, usual: bool) -> bool:
    value = given.get(name)
    if value is None:
        return usual
    if value.lower() not in _YES_NO:
        raise SettingsError(f"{name} reads {value!r}. One of {', '.join(_YES_NO)} is expected.")
    return _YES_NO[value.lower()]
