"""Lines of words of several sizes, laid over one another: what all say is said once, what one says is told of it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from flangewise.records import dataclass

_LINE = re.compile(r'<p(?: class="([^"]*)")?>(.*)</p>\s*', re.DOTALL)
_MARKUP = re.compile(r"<[^>]+>")
_SENTENCES = re.compile(r"((?<=\.) +(?=[A-ZÁÉÍÓÚÄÖÜÑ¿¡])| · )")
CAUTION, KEYED, STAND = "caution", "keyed", "stand"
IN_PLACE = (CAUTION, KEYED, STAND)
"""Lines that stay where they are, with the names of their sizes, where they are not the same for all."""

MOST_NAMED = 6
"""More places of tools on the bed than these do not stand beside the tools, but all in the table."""


@dataclass(frozen=True)
class By:
    """The names of the sizes, and what stands in the place of words that differ."""

    names: Sequence[str]
    mark: str


@dataclass(frozen=True)
class WordsLine:
    """What stands on the leaf, and what of it goes to the table: each time the words of all sizes, or their figures.

    `figures`: under the words that stand before them. `large`: in letters to be read from a step away, there too.
    """

    shown: str
    tabled: tuple[tuple[str, ...], ...] = ()
    figures: tuple[tuple[str, tuple[str, ...]], ...] = ()
    large: bool = False


def merged_lines(lines: Sequence[Sequence[str]], by: By) -> Iterator[WordsLine]:
    """The lines of all sizes at one place: cautions stay there with their sizes' names, other words go to the table."""
    if len(set(map(tuple, lines))) == 1:
        yield from map(WordsLine, lines[0])
        return
    if len({tuple(map(_look, each)) for each in lines}) == 1 and CAUTION not in map(_look, lines[0]):
        for told in zip(*lines, strict=True):
            yield from _placed(told, by) if _look(told[0]) == STAND else (_merged(told, by),)
        return
    placed = [[line for line in each if _look(line) in IN_PLACE] for each in lines]
    for line in dict.fromkeys(line for each in placed for line in each):
        said_of = [line in each for each in placed]
        yield WordsLine(line) if all(said_of) else _named(line, said_of, by)
    others = [[line for line in each if _look(line) not in IN_PLACE] for each in lines]
    if len({tuple(map(_look, each)) for each in others}) == 1:
        for told in zip(*others, strict=True):
            yield _merged(told, by)
        return
    for line in others[0]:
        if all(line in each for each in others):
            yield WordsLine(line)
    own = tuple(
        " ".join(_words(line) for line in each if not all(line in other for other in others)) for each in others
    )
    yield WordsLine(f'<p class="small">{by.mark}</p>', (own,))


def line_words(values: Sequence[str], names: Sequence[str]) -> list[tuple[str, str]]:
    """The words of each size with the names of all that have them; of sizes without words nothing."""
    told = dict.fromkeys(value for value in values if value)
    return [(", ".join(name for name, each in zip(names, values, strict=True) if each == one), one) for one in told]


def _merged(told: Sequence[str], by: By) -> WordsLine:
    if len(set(told)) == 1:
        return WordsLine(told[0])
    look, words = _look(told[0]), [_words(line) for line in told]
    if look == KEYED:
        return _keyed(told, words, by)
    parted = [_SENTENCES.split(each) for each in words]
    opened = f'<p class="{look}">' if look else "<p>"
    if len({len(each) for each in parted}) != 1:
        return WordsLine(f"{opened}{by.mark}</p>", (tuple(words),))
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
    return WordsLine(f"{opened}{''.join(shown)}</p>", tuple(tabled))


def _keyed(told: Sequence[str], words: Sequence[str], by: By) -> WordsLine:
    """A line of words with a figure behind each; where it is no such line, that of each size with its name."""
    parted = [[part.rpartition(" ")[::2] for part in each.removesuffix(".").split(" · ")] for each in words]
    if len({tuple(label for label, _ in each) for each in parted}) != 1:
        return WordsLine("".join(each.shown for each in _each_named(told, by)))
    shown, figures = [], []
    for each in zip(*parted, strict=True):
        label, values = each[0][0], tuple(value for _, value in each)
        same = len(set(values)) == 1
        shown.append(f"{label} {values[0] if same else by.mark}")
        if not same:
            figures.append((label, values))
    return WordsLine(f'<p class="{KEYED}">{" · ".join(shown)}</p>', figures=tuple(figures))


def _placed(told: Sequence[str], by: By) -> Iterator[WordsLine]:
    """Where tools stand on the bed, beside these with the names of the sizes; where that is too much, in the table."""
    if len(set(told)) <= MOST_NAMED:
        yield from _each_named(told, by)
    else:
        yield WordsLine(f'<p class="{STAND}">{by.mark}</p>', (tuple(map(_words, told)),), large=True)


def _each_named(told: Sequence[str], by: By) -> Iterator[WordsLine]:
    """Each line with the names of the sizes that have it; one that all have as it is."""
    for line in dict.fromkeys(told):
        said_of = [line == other for other in told]
        yield WordsLine(line) if all(said_of) else _named(line, said_of, by)


def _named(line: str, said_of: Sequence[bool], by: By) -> WordsLine:
    """A line with the names of the sizes that have it."""
    names = ", ".join(name for name, said in zip(by.names, said_of, strict=True) if said)
    return WordsLine(f'<p class="{_look(line)}">{names}: {_words(line)}</p>')


def _look(line: str) -> str:
    found = _LINE.fullmatch(line)
    return (found.group(1) or "") if found else ""


def _words(line: str) -> str:
    found = _LINE.fullmatch(line)
    return _MARKUP.sub("", found.group(2)).strip() if found else ""
