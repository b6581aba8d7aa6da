"""Building blocks of the profile: closed sections, and numbers with unit, bounds and source."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Section(BaseModel):
    """Strict in kind, closed to unknown keys, finite numbers only, not changed after reading."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


def limit(description: str, *, unit: str, ge: float, le: float, source: str, **more: Any) -> Any:
    """A bounded number whose description ends with its unit and bounds; `more` may hold a default."""
    text = f"{description} Unit: {unit}. Allowed: {ge:g} to {le:g}."
    return Field(description=text, ge=ge, le=le, json_schema_extra={"unit": unit, "source": source}, **more)
