"""A digest of an order, so that a sheet of paper can be matched to the order it was made from.

It is the SHA-256 of the order as canonical JSON in UTF-8: the members that were sent, defaults not filled in, names in
alphabetical order, no blanks, numbers by their value. So the order of the members does not matter, nor whether 1 was
written 1, 1.0 or 1e0, nor whether a member was null or left out, which mean the same; the order of a list does. A digest
cannot be turned back, but whoever holds an order can see whether it is the one.
"""

import hashlib
import json
from datetime import date
from typing import Any, Final

from service.contract.order import Order

CODE_PREFIX: Final = "benchgate:order:sha256:"


def order_digest(order: Order) -> str:
    """The digest of an order, 64 hexadecimal digits."""
    sent = order.model_dump(mode="python", by_alias=True, exclude_unset=True)
    text = json.dumps(_plain(sent), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def code_text(digest: str) -> str:
    """What a code block holds: what it is and the digest, nothing of the order itself."""
    return f"{CODE_PREFIX}{digest}"


def in_groups(digest: str) -> str:
    """Its first 12 digits in groups of four, to be compared by eye."""
    return " ".join(digest[start : start + 4] for start in (0, 4, 8))


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _plain(part) for name, part in value.items() if part is not None}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        # 1.0 is 1, and so is -0.0 the same as 0; what is not whole is written in the fewest digits that mean it.
        return int(value)
    return value
