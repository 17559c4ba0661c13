"""Every word a user reads from a result: a catalogue a language, filled with values by their units.

A result holds no finished sentence but a `Phrase`, said where it is shown in the language and units asked for there.
Values are written by the ending of their name: a length is given as `least_mm` and comes out as `8.5 mm` or `0.335 in`.
"""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias, Union

from flangewise.reading import read_entries
from flangewise.records import dataclass
from flangewise.units import with_comma, written

LANGUAGES = ("en", "de", "es")

Value: TypeAlias = Union[str, int, float, "Phrase", tuple["Value", ...], None]


@dataclass(frozen=True)
class Phrase:
    """A sentence not yet said: its code in the catalogue and the values that fill it."""

    code: str
    values: tuple[tuple[str, Value], ...] = ()


def phrase(code: str, **values: Value) -> Phrase:
    """A phrase of the catalogue, its values by name."""
    return Phrase(code, tuple(sorted(values.items())))


@cache
def catalogue(lang: str) -> Mapping[str, str]:
    """All templates of one language, by code. Raises KeyError for a language that has no catalogue."""
    if lang not in LANGUAGES:
        raise KeyError(lang)
    return read_entries(Path(__file__).with_name("catalogue") / f"{lang}.yaml")


def look_up(record: object, path: str) -> Any:
    """What stands at a path such as `made.depth_mm`, None past a None. KeyError, AttributeError for no such name."""
    for name in path.split("."):
        if record is None:
            return None
        record = record[name] if isinstance(record, Mapping) else getattr(record, name)
    return record


def say(told: Phrase, lang: str = "en", units: str = "mm") -> str:
    """The phrase as a sentence, lengths in `units` (mm or inch). KeyError where the catalogue lacks its code."""
    filled = {name: _fill(name, value, lang, units) for name, value in told.values}
    return catalogue(lang)[told.code].format_map(filled)


def word(code: str, lang: str = "en") -> str:
    """A plain word of the catalogue that takes no values, such as a heading."""
    return catalogue(lang)[code]


def _fill(name: str, value: Value, lang: str, units: str) -> str:
    if isinstance(value, Phrase):
        return say(value, lang, units)
    if isinstance(value, tuple):
        return ", ".join(_fill(name, each, lang, units) for each in value)
    if isinstance(value, float) or (isinstance(value, int) and "_" in name):
        return with_comma(written(name, float(value), units), lang)
    return catalogue(lang)["word.none"] if value is None else str(value)
