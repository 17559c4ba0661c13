"""One sheet to bytes, in both forms; and no verdict in any language."""

import re

import pytest

from flangewise.sheet import Identity, MissingPangoError, Printing, Record, render, sheet_bytes
from flangewise.words import LANGUAGES, catalogue

from .demo import channel

IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
VERDICTS = re.compile(
    r"\b(safe(ly|ty)?|compliant|approved?|certified|sicher(e|er|es)?|konform|zugelassen|zertifiziert|freigegeben|"
    r"segur[oa]s?|conforme|aprobad[oa]s?|certificad[oa]s?)\b",
    re.IGNORECASE,
)


def visible(html: str) -> str:
    return re.sub(r"<style>.*?</style>|<[^>]+>", " ", html, flags=re.S)


@pytest.mark.parametrize("lang", LANGUAGES)
def test_no_verdict_is_printed(lang: str) -> None:
    html = sheet_bytes(channel(), IDENTITY, Printing(lang, html=True)).decode()
    assert VERDICTS.findall(visible(html)) == []


@pytest.mark.parametrize("lang", LANGUAGES)
def test_a_sheet_is_said_in_its_language(lang: str) -> None:
    html = sheet_bytes(channel(), IDENTITY, Printing(lang, html=True)).decode()
    assert f'<html lang="{lang}">' in html
    heading = catalogue(lang)["sheet.section.first-piece"]
    assert heading in html
    assert lang == "en" or heading != catalogue("en")["sheet.section.first-piece"]


def test_html_needs_no_pdf_maker(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing() -> None:
        raise MissingPangoError("no pango")

    monkeypatch.setattr(render, "load_pdf_maker", missing)
    assert sheet_bytes(channel(), IDENTITY, Printing(html=True)).startswith(b"<!DOCTYPE html>")
    with pytest.raises(MissingPangoError):
        sheet_bytes(channel(), IDENTITY, Printing())


def test_a_library_that_does_not_load_is_told_as_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins

    real = builtins.__import__

    def broken(name: str, *args: object, **more: object) -> object:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", broken)
    with pytest.raises(MissingPangoError, match="libpango"):
        render.load_pdf_maker()


def test_the_record_goes_into_both_forms() -> None:
    record = Record("a1b2c3d4e5f6", "", None, ({"code": "x"},))
    assert b"flangewise-record" in sheet_bytes(channel(), IDENTITY, Printing(html=True), record=record)
