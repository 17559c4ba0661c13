"""One catalogue a language: no code missing, none idle, the same fields everywhere, and no verdict in any of them."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import pytest

from flangewise.words import LANGUAGES, catalogue

from .source_tree import PACKAGE, Module, modules

# How a call names a code: the function, and what the catalogue puts in front.
FRONT = {
    "phrase": "",
    "word": "",
    "refuse": "finding.",
    "caution": "finding.",
    "note": "finding.",
    "place": "place.",
    ".word": "sheet.",
}

# Words that would say more than a computed number can: the tool plans, people and their rules decide.
VERDICTS = {
    "en": r"\b(safe|safely|compliant|approved?|certified|certifies|guarante\w+)\b",
    "de": r"\b(sicher(e|er|es|en)?|konform\w*|zugelassen\w*|zertifiziert\w*|garantier\w+|freigegeben\w*)\b",
    "es": r"\b(segur[oa]s?|aprobad[oa]s?|homologad[oa]s?|garantiza\w*|conformes?)\b",
}


@dataclass(frozen=True)
class Use:
    """A call that says a code: the code as a pattern, the values handed over (None: not to be known), and where."""

    pattern: str
    exact: bool
    values: frozenset[str] | None
    where: str


@cache
def uses() -> tuple[Use, ...]:
    """Every call of the package that says a code."""
    calls = (
        (module, node)
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and node.args
    )
    return tuple(use for module, node in calls if (name := _called(node)) in FRONT for use in _use(module, node, name))


def _called(node: ast.Call) -> str:
    if isinstance(node.func, ast.Name):
        return node.func.id
    return "." + node.func.attr if isinstance(node.func, ast.Attribute) else ""


def _use(module: Module, node: ast.Call, name: str) -> Iterator[Use]:
    keywords = [each.arg for each in node.keywords]
    known = {each for each in keywords if each is not None}
    # `word` gives a template away; whoever takes it fills it.
    values = (
        None if None in keywords or name == "word" else frozenset(known | ({"number"} if name == "place" else set()))
    )
    for pattern in _patterns(node.args[0]):
        front = re.escape(FRONT[name])
        exact = ".+" not in pattern
        yield Use(front + pattern, exact, values, f"{module.path}:{node.lineno}")


def _patterns(code: ast.expr) -> Iterator[str]:
    """The codes an argument can be, as patterns; nothing where it is a variable."""
    if isinstance(code, ast.Constant) and isinstance(code.value, str):
        yield re.escape(code.value)
    elif isinstance(code, ast.IfExp):
        yield from _patterns(code.body)
        yield from _patterns(code.orelse)
    elif isinstance(code, ast.JoinedStr):
        yield "".join(re.escape(p.value) if isinstance(p, ast.Constant) else ".+" for p in code.values)
    elif isinstance(code, ast.BinOp):
        left, right = list(_patterns(code.left)), list(_patterns(code.right))
        yield (left[0] if left else ".+") + (right[0] if right else ".+")


def _fields(template: str) -> set[str]:
    return {name.split(".")[0].split("[")[0] for _, name, _, _ in string.Formatter().parse(template) if name}


def test_the_scan_finds_the_calls() -> None:
    assert len(uses()) > 100
    assert any(not use.exact for use in uses())


def test_every_code_said_is_in_the_catalogue() -> None:
    codes = catalogue("en")
    missing = [
        f"{use.where}: {use.pattern}"
        for use in uses()
        if not any(re.fullmatch(use.pattern, code) for code in codes) and not _is_another_word(use)
    ]
    assert missing == []


def _is_another_word(use: Use) -> bool:
    """A call of another function of that name: its first argument is no code at all."""
    return not re.search(r"[a-z]", use.pattern)


def test_every_field_of_a_sentence_is_handed_over() -> None:
    codes, looked_at = catalogue("en"), uses()
    assert looked_at
    for use in looked_at:
        code = use.pattern.replace("\\", "")
        if use.exact and use.values is not None and code in codes:
            assert _fields(codes[code]) <= use.values, f"{use.where}: {code}"


def test_no_sentence_lies_idle() -> None:
    patterns = [use.pattern for use in uses()]
    text = "\n".join(
        path.read_text(encoding="utf-8") for ending in ("*.py", "*.html", "*.j2") for path in PACKAGE.rglob(ending)
    )
    quoted = set(re.findall(r"""["']([a-z0-9.-]+)["']""", text))
    idle = [
        code
        for code in catalogue("en")
        if not {code, code.split(".", 1)[-1]} & quoted and not any(re.fullmatch(p, code) for p in patterns)
    ]
    assert idle == []


@pytest.mark.parametrize("lang", LANGUAGES)
def test_a_language_has_every_sentence_with_the_same_fields(lang: str) -> None:
    english, other = catalogue("en"), catalogue(lang)
    assert other.keys() ^ english.keys() == set()
    assert [code for code in english if _fields(other[code]) != _fields(english[code])] == []
    assert [code for code, template in other.items() if not template.strip()] == []


@pytest.mark.parametrize("lang", [lang for lang in LANGUAGES if lang != "en"])
def test_a_language_is_not_left_in_english(lang: str) -> None:
    """A sentence of six words or more that reads the same in both was forgotten."""
    english, other = catalogue("en"), catalogue(lang)
    left = [code for code, template in english.items() if other[code] == template and len(template.split()) >= 6]
    assert left == []


@pytest.mark.parametrize("lang", LANGUAGES)
def test_no_sentence_is_a_verdict(lang: str) -> None:
    said = {code: text for code, text in catalogue(lang).items() if re.search(VERDICTS[lang], text, re.IGNORECASE)}
    assert said == {}


def test_every_language_has_its_list_of_verdicts() -> None:
    assert set(VERDICTS) == set(LANGUAGES)
    assert re.search(VERDICTS["de"], "Das Biegen ist sicher")
    assert re.search(VERDICTS["es"], "el plegado es seguro")


def test_no_text_in_the_source_is_a_verdict() -> None:
    looked_at = list(modules())
    assert looked_at
    for module in looked_at:
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not re.search(VERDICTS["en"], node.value, re.IGNORECASE), f"{module.path}:{node.lineno}"
    for ending in ("*.html", "*.js", "*.j2", "told.yaml"):
        for path in PACKAGE.rglob(ending):
            assert not re.search(VERDICTS["en"], path.read_text(encoding="utf-8"), re.IGNORECASE), path
