"""Units and digits of the sheets of all examples: one system of units a sheet, the decimal sign of its language."""

from __future__ import annotations

import re

import pytest

from .read_back import NAMES, WANTED, said, sheet_html


def _body(name: str, lang: str, units: str) -> str:
    return said(sheet_html(name, lang, units).split("</head>")[1])


@pytest.mark.parametrize("lang", ["de", "es"])
@pytest.mark.parametrize("name", NAMES)
def test_a_number_of_a_german_or_spanish_sheet_has_a_comma(name: str, lang: str) -> None:
    text = _body(name, lang, "mm").replace(str(WANTED[name]["material"]), "")
    pointed = re.findall(r"(?<![\d.])\d+\.\d+(?![\d.])", re.sub(r"flangewise \S+", "", text))
    assert pointed == []
    assert re.search(r"\d,\d", text)


# Some sheets in the other languages are enough: the words differ, what writes the numbers does not.
INCH = [(name, "en") for name in NAMES] + [(name, lang) for lang in ("de", "es") for name in NAMES[::4]]


@pytest.mark.parametrize(("name", "lang"), INCH)
def test_a_sheet_in_inch_has_no_metric_unit_but_the_kn_beside_a_force(name: str, lang: str) -> None:
    text = _body(name, lang, "inch")
    assert re.findall(r"\b(?:mm|kg|mm/s|N/mm²|MPa|N m)(?!\w)", text) == []
    assert re.findall(r"\d (?:lb|in/min|ton/ft)\b", text)
    beside = re.findall(r"(\(?)[\d.,]+ kN\b", text)
    assert beside and set(beside) == {"("}


@pytest.mark.parametrize("lang", ["en", "de", "es"])
@pytest.mark.parametrize("name", ["cable-clip", "logger-lid", "wind-vane-bracket"])
def test_a_sheet_in_mm_has_no_unit_of_inch_and_no_thousands_are_set_apart(name: str, lang: str) -> None:
    text = _body(name, lang, "mm")
    assert re.findall(r"\d (?:in|lb|lbf|ksi|ton|in/min|ton/ft)\b", text) == []
    assert re.findall(r"\d (?:kg|mm/s|kN)\b", text)
    # A punch of each carries just that.
    assert "1000 kN/m" in text and not re.search(r"1.000 kN/m", text)
