"""Reading a profile, laying overrides over it, and remembering where each value came from."""

import hashlib
import json
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optics_core.materials import materials
from service.cautions import CAUTIONS
from service.languages import ENGLISH
from service.profile.blanks import blank_faults
from service.profile.model import Profile, ProfileOverride

SHIPPED = "shipped default"


class ProfileError(Exception):
    """A profile that cannot be used; says which key and what was expected there."""


@dataclass(frozen=True, slots=True)
class Limits:
    """A complete profile with the origin of its values.

    `changed` holds the keys that the shop's own file sets, `overridden` those that the request sets, as
    "section.key". `digest` names the exact values. `language` is that of the texts for the customer, which the profile does
    not set: whoever asks names it.
    """

    profile: Profile
    changed: frozenset[str]
    overridden: frozenset[str]
    digest: str
    language: str = ENGLISH

    def origin(self, key: str) -> str:
        """Where the value of a key came from, in words."""
        if key in self.overridden:
            return f"request, /profile/{key.replace('.', '/')}"
        if key in self.changed:
            return f"profile '{self.profile.shop.name}', {key}"
        return f"{SHIPPED}, {key}"

    @property
    def label(self) -> str:
        """Name and digest of the profile, with a word on overrides."""
        overridden = f", {len(self.overridden)} overridden by the request" if self.overridden else ""
        return f"{self.profile.shop.name} ({self.digest}){overridden}"


def load(path: Path | None) -> Limits:
    """The shipped profile, with the shop's file laid over it.

    Raises ProfileError, naming the file and the key, if it cannot be read or a value is out of bounds.
    """
    shipped = tomllib.loads(files("service.profile").joinpath("default.toml").read_text("utf-8"))
    if path is None:
        return _limits(shipped, changed={}, overridden={}, where="shipped profile")
    try:
        own = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        raise ProfileError(f"Profile {path} cannot be opened: {error.strerror}. Check BENCHGATE_PROFILE.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ProfileError(f"Profile {path} is not readable TOML: {error}.") from None
    return _limits(_laid_over(shipped, own), changed=own, overridden={}, where=f"Profile {path}")


def overridden(limits: Limits, override: ProfileOverride | None) -> Limits:
    """The limits with a request's overrides laid over them.

    Raises ProfileError if the result contradicts itself (for instance a smallest size above the largest).
    """
    if override is None:
        return limits
    given = override.model_dump(exclude_none=True)
    if not given:
        return limits
    values = _laid_over(limits.profile.model_dump(), given)
    result = _limits(values, changed={}, overridden=given, where="profile")
    return Limits(result.profile, limits.changed, result.overridden, result.digest, limits.language)


def _laid_over(base: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in above.items():
        both = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = _laid_over(base[key], value) if both else value
    return merged


def _keys(values: dict[str, Any]) -> frozenset[str]:
    return frozenset(
        f"{section}.{key}" if isinstance(inner, dict) else section
        for section, inner in values.items()
        for key in (inner if isinstance(inner, dict) else [section])
    )


def _limits(values: dict[str, Any], *, changed: dict[str, Any], overridden: dict[str, Any], where: str) -> Limits:
    try:
        profile = Profile.model_validate(values)
    except ValidationError as error:
        raise ProfileError(_sentence(error, where)) from None
    for fault in _contradictions(profile):
        raise ProfileError(f"{where}: {fault}")
    canonical = json.dumps(profile.model_dump(), sort_keys=True, separators=(",", ":"))
    digest = hashlib.sha256(canonical.encode()).hexdigest()[:12]
    return Limits(profile, _keys(changed), _keys(overridden), digest)


def _sentence(error: ValidationError, where: str) -> str:
    first = error.errors(include_input=False, include_url=False)[0]
    key = ".".join(str(part) for part in first["loc"])
    if first["type"] == "extra_forbidden":
        return f"{where}: the key {key} is not known. Check its spelling; GET /v1/reference/profile lists every key."
    if first["type"] == "missing":
        return f"{where}: the key {key} is missing."
    return f"{where}: the key {key} is not usable: {first['msg'].lower()}."


def _contradictions(profile: Profile) -> list[str]:
    """Faults that no single key shows."""
    faults = []
    known = materials()
    for position, blanks in enumerate(profile.stock):
        if blanks.material not in known:
            faults.append(
                f"the key stock.{position}.material names {blanks.material!r}, which is not a known material."
            )
    names = [blanks.material for blanks in profile.stock]
    if len(names) != len(set(names)):
        faults.append("the key stock lists a material twice.")
    faults += blank_faults(profile.blanks, known)
    if profile.shop.usual_material not in known:
        faults.append(
            f"the key shop.usual_material names {profile.shop.usual_material!r}, which is not a known material."
        )
    faults += [
        f"the key cautions.codes names {code!r}, which is not a known caution."
        for code in profile.cautions.codes
        if code not in CAUTIONS
    ]
    for low, high in _ORDERED:
        section, low_key = low.split(".")
        low_value, high_value = getattr(getattr(profile, section), low_key), getattr(getattr(profile, section), high)
        if low_value > high_value:
            faults.append(f"the key {low} ({low_value:g}) is larger than {section}.{high} ({high_value:g}).")
    ages = [band.below_age_years for band in profile.pd.ranges]
    if ages != sorted(set(ages)):
        faults.append("the key pd.ranges must go from the youngest to the oldest, each age once.")
    faults += [
        f"the key pd.ranges.{position}.least_mm is larger than most_mm."
        for position, band in enumerate(profile.pd.ranges)
        if band.least_mm > band.most_mm
    ]
    return faults


_ORDERED = (
    ("power.cylinder_large_d", "cylinder_unusual_d"),
    ("power.difference_noted_d", "difference_unusual_d"),
    ("add.least_d", "most_d"),
    ("frame.a_least_mm", "a_most_mm"),
    ("frame.b_least_mm", "b_most_mm"),
    ("frame.dbl_least_mm", "dbl_most_mm"),
    ("fit.in_noted_mm", "in_unusual_mm"),
    ("thickness.edge_noted_mm", "edge_unusual_mm"),
    ("vertex.least_mm", "most_mm"),
    ("dates.noted_after_days", "old_after_days"),
)
