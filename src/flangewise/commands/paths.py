"""The part files a command is given: files, folders and standard input, and the work done on each."""

import sys
import time
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import click

from flangewise.commands import UNUSABLE_STATUS, Settings
from flangewise.faults import Fault, Unusable
from flangewise.part import FoundPart, Part

# Work shorter than this needs no bar.
QUIET_S = 1.0
BAR_SIGNS = 24

_Command = TypeVar("_Command", bound=Callable[..., Any])
Work = Callable[[Part], int]


def paths_argument(command: _Command) -> _Command:
    """The argument PATH... of a command, handed over as `paths`: files, folders, or - for standard input."""
    return click.argument("paths", nargs=-1, required=True, metavar="PATH...")(command)


def for_each_part(found: Iterable[FoundPart], work: Work, *, settings: Settings) -> int:
    """Do the work on every part that could be read and tell the faults of the others; the highest status wins.

    The faults of a file that cannot be used go to standard error and stop no other file, and so do those of work that
    finds its input unusable.
    """
    every = tuple(found)
    bar = Bar(len(every), shown=not settings.quiet and sys.stderr.isatty())
    highest = 0
    for each in every:
        bar.clear()
        highest = max(highest, _status(each, work))
        bar.step()
    bar.clear()
    return highest


def _status(found: FoundPart, work: Work) -> int:
    if found.part is None:
        return tell_faults(found.faults)
    try:
        return work(found.part)
    except Unusable as unusable:
        return tell_faults(unusable.faults)


def tell_faults(faults: Iterable[Fault]) -> int:
    """Faults to standard error, a line each; the exit status they mean."""
    for fault in faults:
        click.echo(fault.text, err=True)
    return UNUSABLE_STATUS


class Bar:
    """How many of the parts are done, on standard error, once the work has lasted over a second."""

    def __init__(self, count: int, *, shown: bool) -> None:
        self._count = count
        self._shown = shown
        self._done = 0
        self._drawn = 0
        self._began_s = time.monotonic()

    def step(self) -> None:
        """One part more is done."""
        self._done += 1
        if self._shown and self._done < self._count and time.monotonic() - self._began_s > QUIET_S:
            full = "#" * (BAR_SIGNS * self._done // self._count)
            bar = f"[{full:<{BAR_SIGNS}}] {self._done}/{self._count}"
            click.echo("\r" + bar, nl=False, err=True)
            self._drawn = len(bar)

    def clear(self) -> None:
        """Take the bar off the line, so that something else can be written there."""
        if self._drawn:
            click.echo("\r" + " " * self._drawn + "\r", nl=False, err=True)
            self._drawn = 0
