"""How long a part may be searched for, as the command line says it, and what a person sees meanwhile.

The line of what is searched is written where a person looks on, on standard error, over and over in one place. The
first interrupt ends the search with what was found, the second ends the command.
"""

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import click

from flangewise.commands import Settings
from flangewise.commands.options import OptionReader, Span
from flangewise.sequence import UNLIMITED, Watch
from flangewise.units import trimmed
from flangewise.words import word

SECONDS = Span(0.0, 86400.0, "a number of seconds above 0 and up to 86400 is wanted", open_below=True)
# How long may be searched for a part where nothing is said.
USUAL_S = 60.0
# Drawn anew no sooner than this, and only for a search that lasts.
AGAIN_S = 0.2

_TOLD = "Search no longer than this for a part; then the best plan so far is told with its gap."
seconds_option = click.option("--seconds", metavar="S", default=f"{USUAL_S:g}", show_default=True, help=_TOLD)


def read_seconds(text: str) -> float:
    """The seconds a part may be searched for. Raises Unusable for what is none."""
    asked = OptionReader("mm")
    seconds = asked.number("--seconds", text, SECONDS)
    asked.done()
    assert seconds is not None
    return seconds


class SearchLine:
    """What is being searched, rewritten in one line."""

    def __init__(self, *, shown: bool, clock: Callable[[], float] = time.monotonic) -> None:
        self._shown, self._clock = shown, clock
        self._told: dict[str, object] = {}
        self._drawn, self._next_s = 0, clock() + AGAIN_S

    def tell(self, **told: object) -> None:
        """Something new of the search; drawn when the last drawing is old enough."""
        if "machine" in told:
            self._told.pop("blank", None)
        self._told.update(told)
        if self._shown and self._clock() >= self._next_s:
            self._next_s = self._clock() + AGAIN_S
            line = self._line()
            click.echo(f"\r{line:<{self._drawn}}", nl=False, err=True)
            self._drawn = len(line)

    def clear(self) -> None:
        """Take the line away, so that something else can be written there."""
        if self._drawn:
            click.echo("\r" + " " * self._drawn + "\r", nl=False, err=True)
            self._drawn = 0

    def _line(self) -> str:
        told = self._told
        pieces = [word("search.machine").format(machine=told["machine"])] if told.get("machine") else []
        if told.get("blank"):
            pieces.append(word("search.blank").format(blank=told["blank"]))
        for code in ("best_s", "bound_s"):
            value = told.get(code)
            if isinstance(value, float):
                pieces.append(word(f"search.{code.removesuffix('_s')}").format(seconds=trimmed(value, 1)))
        return ", ".join(pieces)


class Patience:
    """How long each part of a run may be searched for, and whether somebody has interrupted."""

    def __init__(self, seconds: float, settings: Settings, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._seconds, self._clock = seconds, clock
        self._shown = settings.is_watched
        self._line = SearchLine(shown=False)
        self.interrupted = False

    @contextmanager
    def watch(self) -> Iterator[Watch]:
        """The watch over the search for one part, while it lasts.

        Raises KeyboardInterrupt where an earlier part was interrupted: what was found of that has been told.
        """
        if self.interrupted:
            raise KeyboardInterrupt
        self._line = SearchLine(shown=self._shown, clock=self._clock)
        before = signal.signal(signal.SIGINT, self._interrupt)
        try:
            until = self._clock() + self._seconds
            yield Watch(until, self._clock, lambda: self.interrupted, self._line.tell)
        finally:
            signal.signal(signal.SIGINT, before)
            self._line.clear()

    def unseen(self, watch: Watch) -> Watch:
        """The same watch while results are written: the line is taken away, and nobody is told of what is searched."""
        self._line.clear()
        return replace(watch, tell=UNLIMITED.tell)

    def _interrupt(self, _number: int, _frame: object) -> None:
        self.interrupted = True
        signal.signal(signal.SIGINT, signal.default_int_handler)
