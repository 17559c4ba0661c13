"""Lines of words of several sizes, laid over one another: what all say is said once, what one says is told of it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_LINE = re.compile(r'<p(?: class="([^"]*)")?>(.*)</p>\s*', re.DOTALL)
_MARKUP = re.compile(r"<[^>]+>")
_SENTENCES = re.compile(r"((?<=\.) +| · )")
CAUTION = "caution"


@dataclass(frozen=True)
class By:
    """The names of the sizes, and what stands in the place of words that differ."""

    names: Sequence[str]
    mark: str


@dataclass(frozen=True)
class Line:
    """What stands on the leaf, and what of it goes to the table: each time the words of all sizes."""

    shown: str
    tabled: tuple[tuple[str, ...], ...] = ()


def merged_lines(lines: Sequence[Sequence[str]], by: By) -> Iterator[Line]:
    """The lines of all sizes at one place: cautions stay there with their sizes' names, other words go to the table."""
    if len(set(map(tuple, lines))) == 1:
        yield from map(Line, lines[0])
        return
    cautions = [[line for line in each if _look(line) == CAUTION] for each in lines]
    for line in dict.fromkeys(line for each in cautions for line in each):
        said_of = [line in each for each in cautions]
        yield Line(line) if all(said_of) else _caution(_words(line), said_of, by)
    others = [[line for line in each if _look(line) != CAUTION] for each in lines]
    if len({tuple(map(_look, each)) for each in others}) == 1:
        for told in zip(*others, strict=True):
            yield _merged(told, by)
        return
    for line in others[0]:
        if all(line in each for each in others):
            yield Line(line)
    own = tuple(
        " ".join(_words(line) for line in each if not all(line in other for other in others)) for each in others
    )
    yield Line(f'<p class="small">{by.mark}</p>', (own,))


def line_words(values: Sequence[str], names: Sequence[str]) -> list[tuple[str, str]]:
    """The words of each size with the names of all that have them; of sizes without words nothing."""
    told = dict.fromkeys(value for value in values if value)
    return [(", ".join(name for name, each in zip(names, values, strict=True) if each == one), one) for one in told]


def _merged(told: Sequence[str], by: By) -> Line:
    if len(set(told)) == 1:
        return Line(told[0])
    look, words = _look(told[0]), [_words(line) for line in told]
    parted = [_SENTENCES.split(each) for each in words]
    opened = f'<p class="{look}">' if look else "<p>"
    if len({len(each) for each in parted}) != 1:
        return Line(f"{opened}{by.mark}</p>", (tuple(words),))
    shown, tabled = [], []
    for each in zip(*parted, strict=True):
        if len(set(each)) == 1:
            shown.append(each[0])
        else:
            tabled.append(tuple(each))
            if shown[-2:-1] == [by.mark]:
                shown.pop()
            else:
                shown.append(by.mark)
    return Line(f"{opened}{''.join(shown)}</p>", tuple(tabled))


def _caution(words: str, said_of: Sequence[bool], by: By) -> Line:
    names = ", ".join(name for name, said in zip(by.names, said_of, strict=True) if said)
    return Line(f'<p class="{CAUTION}">{names}: {words}</p>')


def _look(line: str) -> str:
    found = _LINE.fullmatch(line)
    return (found.group(1) or "") if found else ""


def _words(line: str) -> str:
    found = _LINE.fullmatch(line)
    return _MARKUP.sub("", found.group(2)).strip() if found else ""
