"""Text in columns for a terminal: tables, names and values, and words that go on below themselves."""

import textwrap
from collections.abc import Sequence

# As wide as a terminal is at least; words that go on below themselves have so much of it, or are not broken.
TERMINAL_COLUMNS, LEAST_COLUMNS = 80, 24
# Columns that stand below the others start so far in.
BELOW_COLUMNS = 2


def text_table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> str:
    """Rows under a head in aligned columns, two spaces apart; the columns numbered in `right` stand to the right."""
    return "\n".join(aligned(head, rows, right=right))


def aligned(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int], indent: int = 0) -> list[str]:
    """The head and each row; words in the last column go on below themselves where the terminal ends.

    Where too little room is left for that, the columns that do not fit stand below the others, those of the head too.
    """
    lines, last = [head, *rows], len(head) - 1
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    starts = [indent + sum(widths[:column]) + 2 * column for column in range(len(head))]
    hangs = last not in right and starts[last] <= TERMINAL_COLUMNS - LEAST_COLUMNS
    if not hangs and last and starts[last] + widths[last] > TERMINAL_COLUMNS:
        fit = max(1, sum(start + width <= TERMINAL_COLUMNS for start, width in zip(starts, widths, strict=True)))
        parts = [
            aligned(
                [*head[some]], [row[some] for row in rows], right=[at - before for at in right], indent=indent + more
            )
            for some, before, more in ((slice(None, fit), 0, 0), (slice(fit, None), fit, BELOW_COLUMNS))
        ]
        return ["\n".join(both) for both in zip(*parts, strict=True)]
    told = []
    for line in lines:
        cells = [text.rjust(width) if at in right else text.ljust(width)
                 for at, (text, width) in enumerate(zip(line[:-1], widths[:-1], strict=True))]  # fmt: skip
        before = " " * indent + "".join(f"{cell}  " for cell in cells)
        if last in right:
            told.append((before + line[-1].rjust(widths[-1])).rstrip())
        else:
            told.append(_hung(before, line[-1], starts[last]))
    return told


def _hung(before: str, text: str, start: int) -> str:
    """Text after what stands before it, and going on under itself where the terminal ends."""
    if start + len(text) <= TERMINAL_COLUMNS or start > TERMINAL_COLUMNS - LEAST_COLUMNS:
        return (before + text).rstrip()
    lines = textwrap.wrap(text, TERMINAL_COLUMNS - start, break_long_words=False, break_on_hyphens=False)
    return ("\n" + " " * start).join([before + lines[0], *lines[1:]])


def folded(text: str, *, before: str = "") -> str:
    """A paragraph no wider than a terminal, after what stands before it."""
    return _hung(before, text, len(before))


def text_pairs(pairs: Sequence[tuple[str, str]], *, indent: int = 0) -> str:
    """Names and values in two aligned columns, one pair a line; long values go on below themselves."""
    width = max((len(name) for name, _ in pairs), default=0)
    margin = " " * indent
    return "\n".join(_hung(f"{margin}{name.ljust(width)}  ", value, indent + width + 2) for name, value in pairs)
