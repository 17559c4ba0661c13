"""Tests that look for a sentence find it by its key in every language, and do not look for a field it has not."""

from __future__ import annotations

import pytest

from flangewise.words import LANGUAGES, phrase, say

from ..sentence import FIGURE, sentences_in


@pytest.mark.parametrize("lang", LANGUAGES)
def test_a_sentence_is_found_with_its_fields_in_what_it_says(lang: str) -> None:
    told = say(phrase("sheet.step.read-after", leg="3", step="12"), lang)
    (found,) = sentences_in(f"{told} {told[:4]}", "sheet.step.read-after", lang=lang, leg=FIGURE)
    assert found.groupdict() == {"leg": "3", "step": "12"}


def test_of_several_sentences_each_is_found_where_it_stands() -> None:
    keys = ("sheet.step.read-fold", "sheet.step.read-after")
    text = " ".join(say(phrase(key, leg=leg, step="2"), "en") for leg, key in enumerate(keys, start=1))
    assert [each["leg"] for each in sentences_in(text, *keys[::-1], leg=r"\d", step=r"\d")] == ["1", "2"]
    assert sentences_in("Read nothing", *keys) == []


def test_a_field_that_no_sentence_has_is_not_looked_for_in_vain() -> None:
    with pytest.raises(AssertionError, match="length"):
        sentences_in("Read L1 after step 2.", "sheet.step.read-after", length=FIGURE)
