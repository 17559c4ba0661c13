"""The catalogues as a setter reads them: short sentences, one thing each, numbers as the language writes them."""

from __future__ import annotations

import re

import pytest

from flangewise.findings import place
from flangewise.words import LANGUAGES, catalogue, phrase, say

MOST_WORDS = 15
LONGER = {
    "sheet.notice": "the fixed notice at the foot of every page stands as it was worded, whole",
}
"""Texts with a sentence of more words, and why."""
COMMA = {"en": ".", "de": ",", "es": ","}
FIXED_TEXT = {"sheet.pango-install", "sheet.notice"}
"""Names of packages, which have their own points, and the notice."""


def sentences(text: str) -> list[str]:
    """The sentences of a text; a colon or semicolon ends none."""
    pieces = re.split(r"(?<=[.!?])\s+|\{remedy\}", text)
    return [piece for piece in pieces if piece.strip()]


def words(sentence: str) -> int:
    """Words: what stands between blanks and has a letter, or a value to come."""
    return sum(bool(re.search(r"[^\W\d_]", each)) for each in sentence.split())


@pytest.mark.parametrize("lang", LANGUAGES)
def test_no_sentence_is_longer_than_a_setter_reads_at_a_glance(lang: str) -> None:
    long = {
        code: (words(each), each)
        for code, text in catalogue(lang).items()
        for each in sentences(text)
        if words(each) > MOST_WORDS and code not in LONGER
    }
    assert long == {}


def test_what_may_be_longer_is_longer() -> None:
    said = [catalogue(lang)[code] for lang in LANGUAGES for code in LONGER]
    assert len(said) == len(LANGUAGES) * len(LONGER)
    assert [text for text in said if max(map(words, sentences(text))) <= MOST_WORDS] == []


def test_sentences_and_words_are_counted_as_they_are_read() -> None:
    text = "leg {leg_mm} is under {least_mm}, 10 % in hand. It may slip{remedy}"
    assert [words(each) for each in sentences(text)] == [7, 3]
    assert words(" ".join(["word"] * 16)) > MOST_WORDS


@pytest.mark.parametrize("lang", LANGUAGES)
@pytest.mark.parametrize("why", ["sheet", "bend", "behind", "below", "side", "tilted"])
def test_a_sentence_put_together_of_others_stays_as_short(why: str, lang: str) -> None:
    hand = phrase("reason.in-hand-gripper", margin_mm=15.0, gripper_mm=5.0)
    reason = phrase(f"reason.open-{why}", height_mm=60.0, piece=place("leg", 3), hand=hand)
    told = sentences(say(phrase("sheet.step.open-because", height="46", reason=reason), lang))
    assert len(told) == 2
    assert max(map(words, told)) <= MOST_WORDS


@pytest.mark.parametrize("lang", LANGUAGES)
def test_a_number_has_the_decimal_sign_of_its_language_and_no_thousands_are_set_apart(lang: str) -> None:
    texts = {code: text for code, text in catalogue(lang).items() if code not in FIXED_TEXT}
    signs = {code: re.findall(r"\d([.,'’\u00a0\u2009\u202f])\d", text) for code, text in texts.items()}
    assert {code: found for code, found in signs.items() if set(found) - {COMMA[lang]}} == {}
    assert [code for code, found in signs.items() if found] != []
    apart = r"(?<![\d.,])[1-9]\d{0,2}[.,'’ \u00a0\u2009\u202f]\d{3}(?!\d)"
    assert [code for code, text in texts.items() if re.search(apart, text)] == []


OTHER_WORDS = {
    "en": {"ram beam": "ram", "vee": "V", "back gauge": "backgauge"},
    "de": {
        "Oberwerkzeug": "Stempel",
        "Biegestempel": "Stempel",
        "Unterwerkzeug": "Matrize",
        "Nase": "Spitze",
        "Falz": "Umschlag",
        "Z-Biegung": "Kröpfung",
        "Mitgänger": "Biegehilfe",
        "Antasten": "Nullpunkt",
        "Gutseite": "Sichtseite",
    },
    "es": {
        "trancha": "corredera",
        "ariete": "corredera",
        "nariz": "punta",
        "doblez": "pliegue, dobladillo",
        "chatarra": "rechazo",
        "palpar": "cero",
        "formato": "desarrollo",
        "cara buena": "cara vista",
    },
}
"""Words of the trade that are right too, and the one that is used instead: a thing has one name on a sheet."""


@pytest.mark.parametrize("lang", LANGUAGES)
def test_a_thing_has_one_name(lang: str) -> None:
    pattern = "|".join(rf"\b{re.escape(word)}" for word in OTHER_WORDS[lang])
    assert {code: text for code, text in catalogue(lang).items() if re.search(pattern, text, re.IGNORECASE)} == {}
