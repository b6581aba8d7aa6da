"""Which of the types (RFC 9110, 12.5.1) or languages (12.5.4) that an endpoint offers its caller likes best."""

from collections.abc import Sequence

from service.web.problems import Problem


def preferred_type(accept: str, offered: Sequence[str]) -> str:
    """The offered type with the greatest weight; of several alike, the one offered first.

    Raises Problem not-acceptable, naming what there is, if the caller takes none of them.
    """
    if not accept.strip():
        return offered[0]
    ranges = [_range(part) for part in accept.split(",") if part.strip()]
    weights = {kind: _weight(kind, ranges) for kind in offered}
    best = max(offered, key=lambda kind: weights[kind])
    if weights[best] <= 0:
        raise Problem(
            "not-acceptable", f"There is {' or '.join(offered)}. Name one of them under Accept, or leave it out."
        )
    return best


def preferred_language(accepted: str, offered: Sequence[str]) -> str:
    """The offered language with the greatest weight, of several alike the one named first; else the first of those offered.

    "es-MX" falls to "es" (lookup, RFC 4647, 3.4), unless "es" has a weight of its own; "*" stands for what is not named. A
    caller who refuses every language is answered in the first one all the same.
    """
    if not accepted.strip():
        return offered[0]
    ranges = [_range(part) for part in accepted.split(",") if part.strip()]
    ranked = {language: _language_rank(language, ranges) for language in offered}
    best = max(offered, key=lambda language: ranked[language])
    return best if ranked[best][0] > 0 else offered[0]


def _language_rank(language: str, ranges: list[tuple[str, float]]) -> tuple[float, int]:
    """The weight of a language, and how early it is named; of its own name, else of a narrower one, else of "*"."""
    named = [(name, weight, -place) for place, (name, weight) in enumerate(ranges)]
    for rank in (
        [(weight, early) for name, weight, early in named if name == language],
        [(weight, early) for name, weight, early in named if name.startswith(f"{language}-")],
        [(weight, early) for name, weight, early in named if name == "*"],
    ):
        if rank:
            return max(rank)
    return 0.0, -len(ranges)


def _range(part: str) -> tuple[str, float]:
    kind, *parameters = (piece.strip().lower() for piece in part.split(";"))
    weight = 1.0
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name.strip() == "q":
            weight = _number(value.strip())
    return kind, weight


def _number(text: str) -> float:
    plain = text.isascii() and len(text) <= 5 and text.replace(".", "", 1).isdigit()
    return min(float(text), 1.0) if plain else 0.0


def _weight(kind: str, ranges: list[tuple[str, float]]) -> float:
    """The weight of the most particular range that the type falls under; 0 if there is none."""
    for wanted in (kind, f"{kind.partition('/')[0]}/*", "*/*"):
        found = [weight for name, weight in ranges if name == wanted]
        if found:
            return max(found)
    return 0.0
