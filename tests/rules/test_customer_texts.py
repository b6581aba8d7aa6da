"""The file of the translators: complete, in step with the English, with the same words filled in, and without jargon."""

import re
from collections import Counter
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
import test_every_rule
import test_text
from desk import LATER, ORDINARY, SHOP, edited

from service.cautions import CAUTIONS
from service.checking import cautions, check, read
from service.contract.order import Order, ReadRequest
from service.languages import LANGUAGES, caution_text, customer_text, source_of_texts, translations
from service.profile.loader import overridden
from service.profile.model import ProfileOverride
from service.rules.registry import RULES

TEXTS: list[dict[str, Any]] = source_of_texts()["texts"]
WORDS: dict[str, list[dict[str, str]]] = source_of_texts()["words"]
OTHERS = LANGUAGES[1:]
ROW_OF = {code: row for row in TEXTS for code in row["rules"]}
PLACEHOLDER = re.compile(r"\{([a-z_]+)\}")
# What somebody typed or sent, and figures: these are quoted, and never translated.
QUOTED = {"said"}
# What a person at an order form need not know, in Spanish.
JARGON = {
    "es": (
        "meridian", "dioptr", "Δ", "descentr", "descentrad", "anisometrop", "equivalente esf", "tolerancia", "centro óptico",
        "centros ópticos", "tóric", "esferocil", "vergencia", "ametrop", "transpon", "transposición", "imbalance",
        "desequilibrio", "semiacabad", "biselad", "bloquead", "perfil", "boxing", "datum", "progresión de pasillo",
    )
}  # fmt: skip
OUT_OF_TONE = {
    "es": ("inválid", "ilegal", "erróne", "error", "excepción", "ha fallado", "incorrect", "prohibid", "null")
}
ENGLISH_LEFT = re.compile(
    r"\b(?:right|left|eye|eyes|bottom|top|lens|width|height|bridge|progressive|near|distance|please|the|your|we)\b",
    re.I,
)
SPANISH = {language: replace(SHOP, language=language) for language in OTHERS}


@pytest.mark.parametrize("one", RULES, ids=lambda one: one.code)
def test_every_rule_speaks_to_customers_in_every_language(one: Any) -> None:
    row = ROW_OF.get(one.code)
    assert row is not None, f"add {one.code} to service/languages/customer_texts.toml"
    assert row["en"] == one.customer, "the English was changed: look at the translations, then at the line `en`"
    for language in OTHERS:
        text = row[language]
        assert text.strip() == text != ""
        assert text != one.customer
        assert text[-1] in ".?"
        assert "  " not in text
        assert Counter(PLACEHOLDER.findall(text)) == Counter(PLACEHOLDER.findall(one.customer))
        assert not set("{}") & set(PLACEHOLDER.sub("", text))
        assert not [word for word in JARGON[language] if word.lower() in text.lower()]
        assert not [word for word in OUT_OF_TONE[language] if word in text.lower()]
        assert set(PLACEHOLDER.findall(text)) <= QUOTED | set(WORDS), (
            "give the phrases that may stand there under `words`"
        )


def test_the_file_holds_each_rule_once_and_no_rule_that_is_not_there() -> None:
    listed = [code for row in TEXTS for code in row["rules"]]
    assert len(listed) == len(set(listed))
    assert set(listed) == {one.code for one in RULES}
    assert [row["en"] for row in TEXTS] == list(dict.fromkeys(row["en"] for row in TEXTS))
    assert {name for row in TEXTS for name in PLACEHOLDER.findall(row["en"])} == QUOTED | set(WORDS)


def test_every_caution_is_in_every_language() -> None:
    rows = {row["code"]: row for row in source_of_texts()["cautions"]}
    assert rows.keys() == CAUTIONS.keys()
    for code, row in rows.items():
        assert row["en"] == CAUTIONS[code].message
        for language in OTHERS:
            assert row[language].endswith(".")
            assert row[language] != row["en"]
            assert caution_text(language, code, row["en"]) == row[language]


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("case", test_every_rule.CASES, ids=str)
def test_a_finding_says_the_same_in_another_language(case: Any, language: str) -> None:
    order = Order.model_validate(edited(case.beyond))
    english, other = check(order, SHOP, LATER), check(order, SPANISH[language], LATER)
    assert len(english.findings) == len(other.findings) > 0
    for before, after in zip(english.findings, other.findings, strict=True):
        # Nothing but the customer's text differs, and that does.
        assert replace(after, customer_message=before.customer_message) == before
        assert after.customer_message != before.customer_message
        assert not set("{}") & set(after.customer_message)
        assert not ENGLISH_LEFT.search(re.sub("«.*?»", "", after.customer_message))
        figures = re.findall(r"\d+\.\d+", before.customer_message)
        assert figures == re.findall(r"\d+\.\d+", after.customer_message)


@pytest.mark.parametrize("code", test_text.CODES)
def test_what_was_typed_is_quoted_and_not_translated(code: str) -> None:
    order = Order.model_validate(test_text.written(test_text.TEXTS[code][1]))
    for before, after in zip(
        check(order, SHOP, LATER).findings, check(order, SPANISH["es"], LATER).findings, strict=True
    ):
        assert re.findall('"(.*?)"', before.customer_message) == re.findall("«(.*?)»", after.customer_message)
        assert not ENGLISH_LEFT.search(re.sub("«.*?»", "", after.customer_message))


def test_an_eye_that_is_not_named_is_told_by_its_side_in_spanish() -> None:
    asked = ReadRequest.model_validate({"prescription": {"written": "-2.25 -0.75 x 10\n-2.50 -0.50 x 170"}})
    said = [
        one.customer_message for one in read(asked, SPANISH["es"], LATER).findings if one.code == "eye-not-labelled"
    ]
    assert said == [
        "Hemos tomado «-2.25» como ojo derecho. Por favor, compruebe que los ojos no están cambiados.",
        "Hemos tomado «-2.50» como ojo izquierdo. Por favor, compruebe que los ojos no están cambiados.",
    ]


@pytest.mark.parametrize(
    ("whose", "said"),
    [("the right eye", "el ojo derecho"), ("the left eye", "el ojo izquierdo"), ("one eye", "un ojo")],
)
def test_whose_figure_of_a_document_it_is_is_told_in_spanish(whose: str, said: str) -> None:
    text = customer_text("es", "fhir-sphere-missing", "", {"whose": whose})
    assert text == f"Falta la cifra ESF para {said}. Por favor, pregunte a quien escribió la receta."


def test_overrides_of_a_request_keep_the_language() -> None:
    override = ProfileOverride.model_validate({"blank": {"allowance_mm": 3.0}})
    assert overridden(SPANISH["es"], override).language == "es"
    order = {**ORDINARY, "profile": {"blank": {"allowance_mm": 3.0}}, "prescription": {"right": {"sphere": -2.0}}}
    order["prescription"] = {"right": {"sphere": -2.0, "axis": 200}, "left": {"sphere": -2.0}}
    found = check(Order.model_validate(order), SPANISH["es"], date(2026, 11, 25)).findings
    assert any(one.customer_message.startswith("El EJE del ojo derecho debe ser") for one in found)


def test_the_cautions_of_an_answer_are_in_its_language() -> None:
    for before, after in zip(cautions(SHOP), cautions(SPANISH["es"]), strict=True):
        assert (before.code, before.source) == (after.code, after.source)
        assert after.message == translations("es").cautions[before.code] != before.message


def test_a_rule_that_has_no_translation_yet_is_said_in_english() -> None:
    assert customer_text("es", "no-such-rule", "The {eye}.", {"eye": "right eye"}) == "The right eye."
