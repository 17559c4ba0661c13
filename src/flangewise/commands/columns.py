"""Text in columns for a terminal: tables, names and values, and words that go on below themselves."""

import textwrap
from collections.abc import Sequence

# As wide as a terminal is at least; words that go on below themselves have so much of it, or are not broken.
TERMINAL_COLUMNS, LEAST_COLUMNS = 80, 24


def text_table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> str:
    """Rows under a head in aligned columns, two spaces apart; the columns numbered in `right` stand to the right."""
    return "\n".join(aligned(head, rows, right=right))


def aligned(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int]) -> list[str]:
    """The head and each row; words in the last column go on below themselves where the terminal ends."""
    lines, last = [head, *rows], len(head) - 1
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    start = sum(widths[:-1]) + 2 * last
    told = []
    for line in lines:
        cells = [text.rjust(width) if at in right else text.ljust(width)
                 for at, (text, width) in enumerate(zip(line[:-1], widths[:-1], strict=True))]  # fmt: skip
        if last in right:
            told.append("  ".join([*cells, line[-1].rjust(widths[-1])]).rstrip())
        else:
            told.append(_hung("".join(f"{cell}  " for cell in cells), line[-1], start))
    return told


def _hung(before: str, text: str, start: int) -> str:
    """Text after what stands before it, and going on under itself where the terminal ends."""
    if start + len(text) <= TERMINAL_COLUMNS or start > TERMINAL_COLUMNS - LEAST_COLUMNS:
        return (before + text).rstrip()
    lines = textwrap.wrap(text, TERMINAL_COLUMNS - start, break_long_words=False, break_on_hyphens=False)
    return ("\n" + " " * start).join([before + lines[0], *lines[1:]])


def folded(text: str) -> str:
    """A paragraph no wider than a terminal."""
    return textwrap.fill(text, TERMINAL_COLUMNS, break_long_words=False, break_on_hyphens=False)


def text_pairs(pairs: Sequence[tuple[str, str]], *, indent: int = 0) -> str:
    """Names and values in two aligned columns, one pair a line; long values go on below themselves."""
    width = max((len(name) for name, _ in pairs), default=0)
    margin = " " * indent
    return "\n".join(_hung(f"{margin}{name.ljust(width)}  ", value, indent + width + 2) for name, value in pairs)
