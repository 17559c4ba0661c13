"""Many pieces of work, done here or by a crew: processes of this machine, or those of a cluster (`cluster.py`).

A crew has so many pieces in hand and no more, so that a run over many parts takes no more memory than one over few. It
gives results and writes nothing: one process, the one that hired it, does all that is written. So a member of the crew
can die at any moment and costs one piece of work.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any, Generic, Protocol, TypeVar

from flangewise.records import dataclass

Work = TypeVar("Work")
Result = TypeVar("Result")
Item = TypeVar("Item")

# So many pieces one process does before another takes its place: what libraries keep of each page grows without end.
MOST_PIECES = 40
# A process looks so often whether the one that hired it is still there.
LOOK_S = 1.0


@dataclass(frozen=True)
class KnownWork(Generic[Result]):
    """A piece of work that needs none: what comes of it is known."""

    outcome: Result | Exception


class Crew(Protocol):
    """Who does pieces of work; each comes back under the number it was given with, in any order."""

    @property
    def has_room(self) -> bool:
        """Whether another piece can be taken."""

    @property
    def is_busy(self) -> bool:
        """Whether anything is in hand."""

    def take(self, number: int, work: Any) -> None:
        """Take a piece of work in hand."""

    def finished(self) -> list[tuple[int, Any]]:
        """What has been done since this was last asked, waiting for the first: results, or what went wrong."""

    def leave(self) -> None:
        """Drop what is in hand, and go."""


# Makes the crew that does one kind of work; None: it is done here.
Hire = Callable[[Callable[[Any], Any]], Crew]


class DiedError(Exception):
    """A process died at its work."""


def each_outcome(
    do: Callable[[Work], Result], works: Iterable[Work | KnownWork[Result]], *, hire: Hire | None = None
) -> Iterator[tuple[int, Result | Exception]]:
    """Do every piece of work and give its number with its result, or with what went wrong, as soon as it is ready.

    Works are taken from where they come one by one, as there is room for them. Without a crew all is done here, one
    after the other. With one, `do` and the works must be such that they can be handed to it: functions of a module and
    plain data. It is hired for the first work that is not known. Work left when the reader stops is dropped.
    """
    crew: Crew | None = None
    try:
        for number, work in enumerate(works):
            if isinstance(work, KnownWork):
                yield number, work.outcome
            elif hire is None:
                yield number, attempted(do, work)
            else:
                crew = crew or hire(do)
                done = [] if crew.has_room else crew.finished()
                crew.take(number, work)
                yield from done
        while crew is not None and crew.is_busy:
            yield from crew.finished()
    finally:
        if crew is not None:
            crew.leave()


def attempted(do: Callable[[Work], Result], work: Work) -> Result | Exception:
    """What comes of a piece of work, or what went wrong with it: the run goes on, whatever a part does."""
    try:
        return do(work)
    except Exception as error:
        return error


def in_order(numbered: Iterable[tuple[int, Item]]) -> Iterator[Item]:
    """Items by their numbers from 0 on, each as soon as those before it have come."""
    early: dict[int, Item] = {}
    due = 0
    for number, item in numbered:
        early[number] = item
        while due in early:
            yield early.pop(due)
            due += 1


def processes(count: int, works: int) -> Hire | None:
    """So many processes of this machine, no more than there are works; None where it is done as well here.

    One process is as good as none, but for so many works that another has to take its place.
    """
    useful = min(count, works)
    return partial(Processes, count=useful) if useful > 1 or works > MOST_PIECES else None


@dataclass
class _Hand:
    """A process with a line of its own, so that none that dies holds up another, and how many pieces it has taken."""

    process: BaseProcess
    line: Connection
    pieces: int = 0


class Processes:
    """Processes of this machine, each with one piece of work in hand; where one dies or is worn out another comes."""

    def __init__(self, do: Callable[[Any], Any], *, count: int) -> None:
        self._do, self._count = do, count
        self._free: list[_Hand] = []
        self._at_work: dict[Connection, tuple[_Hand, int]] = {}

    @property
    def has_room(self) -> bool:
        """Whether a process is free, or can still be started."""
        return len(self._at_work) < self._count

    @property
    def is_busy(self) -> bool:
        """Whether any is at work."""
        return bool(self._at_work)

    def take(self, number: int, work: Any) -> None:
        """Hand a piece of work to a free process, or to a new one."""
        hand = self._free.pop() if self._free else self._hired()
        self._at_work[hand.line] = hand, number
        hand.pieces += 1
        try:
            hand.line.send(work)
        except OSError:
            # It died idle; what it was given comes back as lost.
            return

    def finished(self) -> list[tuple[int, Any]]:
        """What is ready; a DiedError for what a process that died was at."""
        # Lines that are at their end, because their process died, are ready too.
        return [self._given(line) for line in wait(list(self._at_work)) if isinstance(line, Connection)]

    def leave(self) -> None:
        """End all processes, at once, whatever they are at."""
        hands = [*self._free, *(hand for hand, _ in self._at_work.values())]
        self._free, self._at_work = [], {}
        for hand in hands:
            self._dismiss(hand)

    def _given(self, line: Connection) -> tuple[int, Any]:
        hand, number = self._at_work.pop(line)
        try:
            outcome = line.recv()
        except (EOFError, OSError):
            self._dismiss(hand)
            return number, DiedError(f"the process at work on it ended ({hand.process.exitcode})")
        if hand.pieces < MOST_PIECES:
            self._free.append(hand)
        else:
            self._dismiss(hand)
        return number, outcome

    def _hired(self) -> _Hand:
        ours, theirs = multiprocessing.Pipe()
        others = [hand.line for hand in self._free] + list(self._at_work)
        args = (self._do, theirs, [*others, ours], os.getpid())
        process = multiprocessing.get_context("fork").Process(target=_at_work, args=args, daemon=True)
        process.start()
        theirs.close()
        return _Hand(process, ours)

    def _dismiss(self, hand: _Hand) -> None:
        hand.line.close()
        hand.process.kill()
        hand.process.join()


def _at_work(do: Callable[[Any], Any], line: Connection, not_ours: Sequence[Connection], hirer: int) -> None:
    """What a process of the crew does: take work from its line and give the result back, until the line ends.

    An interrupt at the terminal is for the one that hired it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    for each in not_ours:
        each.close()
    threading.Thread(target=_leave_without, args=(hirer,), daemon=True).start()
    while True:
        try:
            work = line.recv()
        except (EOFError, OSError):
            # Who hired it is gone; one that was killed before it read what lay there is told as a fault of the line.
            return
        outcome = attempted(do, work)
        try:
            line.send(outcome)
        except OSError:
            return
        except Exception as error:  # what went wrong, or came of it, cannot be handed over
            line.send(DiedError(f"{type(error).__name__}: {error}"))


def _leave_without(hirer: int) -> None:
    """End this process, whatever it is at, when the one that hired it is gone."""
    while os.getppid() == hirer:
        time.sleep(LOOK_S)
    os._exit(1)
