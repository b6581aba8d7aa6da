"""The words for customers in other languages than English, from one file that a translator edits: customer_texts.toml.

English stands where it is decided what is said: in the rules and in the cautions. Here stand its translations, by the code
of the rule or caution. The texts for the shop are English in every language.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

ENGLISH: Final = "en"
# English first: it is what is spoken where a caller names no language, or none that is known here.
LANGUAGES: Final = (ENGLISH, "es")


@dataclass(frozen=True, slots=True)
class CustomerText:
    """One text in one language. `phrases` holds, for each of its placeholders, those of its fillings that are translated."""

    text: str
    phrases: tuple[tuple[str, Mapping[str, str]], ...]

    def filled(self, words: Mapping[str, str]) -> str:
        """The text with its words filled in; what is no phrase of ours, such as a figure or what was typed, is quoted."""
        translated = {name: known.get(words[name], words[name]) for name, known in self.phrases}
        return self.text.format_map({**words, **translated})


@dataclass(frozen=True, slots=True)
class Translations:
    """All that is said in one language, by the code of the rule or of the caution."""

    texts: Mapping[str, CustomerText]
    cautions: Mapping[str, str]


@cache
def translations(language: str) -> Translations:
    """The translations into a language. It is read once; a fault in the file is a KeyError or a TOMLDecodeError."""
    source = source_of_texts()
    phrases = {name: {row["en"]: row[language] for row in rows} for name, rows in source["words"].items()}
    texts = {
        code: CustomerText(
            row[language], tuple((name, known) for name, known in phrases.items() if f"{{{name}}}" in row[language])
        )
        for row in source["texts"]
        for code in row["rules"]
    }
    return Translations(texts, {row["code"]: row[language] for row in source["cautions"]})


def source_of_texts() -> dict[str, Any]:
    """The file as it stands."""
    return tomllib.loads(files(__package__).joinpath("customer_texts.toml").read_text("utf-8"))


def load_all() -> None:
    """Read every language, so that a fault in the file is told at start-up and not to a customer."""
    for language in LANGUAGES[1:]:
        translations(language)


def customer_text(language: str, code: str, english: str, words: Mapping[str, str]) -> str:
    """What a rule says to a customer. `english` is said where there is no other word for it."""
    translated = None if language == ENGLISH else translations(language).texts.get(code)
    return english.format_map(words) if translated is None else translated.filled(words)


def caution_text(language: str, code: str, english: str) -> str:
    """A caution in a language; in English where there is no other word for it."""
    return english if language == ENGLISH else translations(language).cautions.get(code, english)
