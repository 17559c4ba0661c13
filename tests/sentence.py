"""Sentences of the catalogue found again in a text by their keys: they may be said otherwise, what they tell stays."""

from __future__ import annotations

import re

from flangewise.words import catalogue

FIGURE = r"[\d.]+"


def sentences_in(text: str, *keys: str, lang: str = "en", **looks: str) -> list[re.Match[str]]:
    """Where any of the sentences stands in a text, in its order; the groups of each are the sentence's fields by name.

    A field looks as said here, or like anything. Raises AssertionError for a field that none of the sentences has, so
    that none is looked for in vain.
    """
    patterns = [re.split(r"\{(\w+)\}", catalogue(lang)[key]) for key in keys]
    fields = {field for pieces in patterns for field in pieces[1::2]}
    assert patterns and set(looks) <= fields, f"{keys} have no {set(looks) - fields}"
    places = [
        place
        for pieces in patterns
        for place in re.finditer(
            "".join(
                re.escape(piece) if at % 2 == 0 else f"(?P<{piece}>{looks.get(piece, '.+?')})"
                for at, piece in enumerate(pieces)
            ),
            text,
        )
    ]
    return sorted(places, key=lambda place: place.start())
