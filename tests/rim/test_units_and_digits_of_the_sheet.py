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


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_in_inch_has_no_metric_unit_but_the_kn_beside_a_force(name: str) -> None:
    text = _body(name, "en", "inch")
    assert re.findall(r"\b(?:mm|kg|mm/s|N/mm²|N m)(?!\w)", text) == []
    assert re.findall(r"\d (?:lb|in/min|ton/ft)\b", text)
    beside = re.findall(r"(\(?)[\d.]+ kN\b", text)
    assert beside and set(beside) == {"("}
