"""Building blocks of the request models: strict, finite, bounded, each with its unit.

A request is refused (422) only for what the published schema forbids. The bounds here are therefore wide: they
catch a wrong unit or a runaway number. What is merely unusual is a finding, and its limits live in the profile.
"""

import re
from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class RequestModel(BaseModel):
    """Strict in kind, closed to unknown members, finite numbers only, not changed after reading."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


def number(description: str, *, unit: str, ge: float, le: float, **more: Any) -> Any:
    """A bounded number field whose description ends with its unit and bounds."""
    text = f"{description} Unit: {unit}. Allowed: {ge:g} to {le:g}."
    more.setdefault("default", ...)
    return Field(description=text, ge=ge, le=le, json_schema_extra={"unit": unit}, **more)


def _day_written_out(value: object) -> date:
    if not isinstance(value, str) or not _DAY.fullmatch(value):
        raise PydanticCustomError("day_form", "A day is written as text in the form YYYY-MM-DD.")
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise PydanticCustomError("day_form", "A day that exists is written in the form YYYY-MM-DD.") from None


Day = Annotated[date, BeforeValidator(_day_written_out)]
