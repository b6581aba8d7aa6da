"""Building blocks of the answers: words and fields that several parts share."""

from typing import Any, Literal

from pydantic import Field

EyeName = Literal["right", "left"]


def unit(description: str, symbol: str, **more: Any) -> Any:
    """A figure's description, which ends with its unit."""
    return Field(description=f"{description} Unit: {symbol}.", json_schema_extra={"unit": symbol}, **more)
