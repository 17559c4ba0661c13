"""The catalogue: phrases filled with values by their units."""

from __future__ import annotations

import pickle

import pytest

from flangewise.words import LANGUAGES, Phrase, catalogue, phrase, say, word


def test_a_phrase_is_said_with_its_values() -> None:
    assert say(phrase("place.bend", number=2)) == "bend 2"
    assert say(phrase("place.bend", number="3a")) == "bend 3a"


def test_values_are_written_by_the_end_of_their_name() -> None:
    told = phrase("finding.leg-inside-bends", leg_mm=7.25, least_mm=8)
    assert say(told).startswith("7.25 mm is used up by its own bends")
    assert "must be 8 mm or more" in say(told)
    assert "must be 0.315 in or more" in say(told, units="inch")


def test_the_order_of_values_does_not_matter() -> None:
    assert phrase("x", a=1, b=2) == phrase("x", b=2, a=1)
    assert hash(phrase("x", a=1, b=2)) == hash(phrase("x", b=2, a=1))
    assert phrase("x").values == ()


def test_a_phrase_may_hold_phrases_and_several_values() -> None:
    inner = phrase("place.bend", number=1)
    # The place stands for any one field: what is filled in is what counts here.
    assert say(Phrase("place.leg", (("number", inner),))) == "leg bend 1"
    assert say(Phrase("place.leg", (("number", (inner, phrase("place.bend", number=2))),))) == "leg bend 1, bend 2"
    assert say(Phrase("place.leg", (("number", (1, 2, 3)),))) == "leg 1, 2, 3"
    assert say(Phrase("place.leg", (("number", None),))) == f"leg {word('word.none')}"


def test_braces_in_a_value_are_text() -> None:
    assert say(phrase("place.bend", number="{turn: 45}")) == "bend {turn: 45}"


def test_a_value_that_lacks_is_an_error_not_a_gap() -> None:
    with pytest.raises(KeyError):
        say(phrase("place.bend"))


def test_a_code_that_lacks_is_an_error() -> None:
    with pytest.raises(KeyError):
        say(phrase("no.such.code"))
    with pytest.raises(KeyError):
        word("no.such.code")


def test_only_languages_that_have_a_catalogue() -> None:
    assert LANGUAGES == ("en", "de", "es")
    for unknown in ("fr", "", "../en", "EN"):
        with pytest.raises(KeyError):
            catalogue(unknown)


def test_a_catalogue_maps_codes_to_templates() -> None:
    templates = catalogue("en")
    assert templates["place.bend"] == "bend {number}"
    assert all(isinstance(text, str) and text for text in templates.values())


def test_a_phrase_survives_the_way_to_a_worker() -> None:
    told = phrase("finding.leg-inside-bends", leg_mm=7.25, least_mm=8, where=phrase("place.leg", number=1))
    assert pickle.loads(pickle.dumps(told)) == told
