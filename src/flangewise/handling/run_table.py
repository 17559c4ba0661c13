"""Brake and robot in step: what each does at a hit, what it waits for, and what is done after a stop in between.

Signals are told by what they mean, so that they can be wired to any inputs and outputs. What is done after a stop
follows from what it leaves: which of jaw and tools hold the part then, and whether its bend is not begun, half made or
made. Without power the ram's place and a hold in doubt, without air the jaw's hold, and after a zone stop all stand as
they stood. A judgement for the table of a run, to be agreed on site.
"""

from collections.abc import Collection, Iterator, Sequence
from typing import Any, Literal

from flangewise.records import dataclass
from flangewise.setup import SetupStep
from flangewise.shop import Supply
from flangewise.words import Phrase

AfterStop = Literal["go-on", "take-out", "take-out-bent", "bend-on", "scrap"]
Bend = Literal["not-begun", "half-made", "made"]
Hold = Literal["let-go", "follow", "by-hand"]
Stop = Literal["power", "air", "zone"]
STOPS: tuple[Stop, ...] = ("power", "air", "zone")


@dataclass(frozen=True)
class Phase:
    """One phase of a hit, and how the part stands in it: in the jaw, between the tools, its bend so far.

    What brake and robot do in it, and what ends it, stand in the catalogue by its code.
    """

    code: str
    in_jaw: bool
    in_tools: bool
    bend: Bend

    def after(self, stop: Stop, kept: Collection[Supply] = ()) -> AfterStop:
        """What is done after a stop. `kept`: without what the gripper keeps its hold.

        After a zone stop all goes on. Half bent a part cannot be seated again, and a ram that lost its place does not
        find the depth: without power it is scrap, whoever holds it; otherwise it is taken out. Without air the tools
        hold what they pinch, and the jaw finds it where it was; half bent it is bent on without the jaw, which has lost
        the part's swing. What hangs in a jaw alone may have slipped.
        """
        if stop == "zone":
            return "go-on"
        if stop == "power":
            return "scrap" if self.bend == "half-made" else self._taken_out
        if not self.in_jaw or "air" in kept:
            return "go-on"
        if self.in_tools:
            return "bend-on" if self.bend == "half-made" else "go-on"
        return self._taken_out

    @property
    def _taken_out(self) -> AfterStop:
        return "take-out-bent" if self.bend == "made" else "take-out"


BEFORE = (
    Phase("load", in_jaw=True, in_tools=False, bend="not-begun"),
    Phase("seated", in_jaw=True, in_tools=False, bend="not-begun"),
    Phase("pinched", in_jaw=True, in_tools=True, bend="not-begun"),
)
# Of a jaw that lets go in its own phase it may be open or not: as the worse of both.
MIDST: dict[str, tuple[Phase, ...]] = {
    "let-go": (
        Phase("let-go", in_jaw=True, in_tools=True, bend="not-begun"),
        Phase("bent", in_jaw=False, in_tools=True, bend="half-made"),
        Phase("held", in_jaw=True, in_tools=True, bend="made"),
    ),
    "follow": (
        Phase("follow", in_jaw=True, in_tools=True, bend="not-begun"),
        Phase("bent", in_jaw=True, in_tools=True, bend="half-made"),
    ),
}
# The punch leaves the part while the ram opens: from then on the jaw alone holds it.
BEHIND = (
    Phase("open", in_jaw=True, in_tools=False, bend="made"),
    Phase("taken", in_jaw=True, in_tools=False, bend="made"),
)


def phases(hold: Hold) -> tuple[Phase, ...]:
    """The phases of a hit in order, none of one by hand; a jaw that let go takes hold again before the punch leaves."""
    return () if hold == "by-hand" else (*BEFORE, *MIDST[hold], *BEHIND)


@dataclass(frozen=True)
class RunHit:
    """A hit as the run knows it: what is set at it, whether the jaw lets go or follows, and where it holds.

    `held` is None where no grip is known.
    """

    step: int
    bends: tuple[int, ...]
    open_height_mm: float
    x_mm: float | None
    retract_mm: float
    hold: Hold
    moves: int
    held: Phrase | None = None


def run_hits(steps: Sequence[SetupStep], holds: Sequence[Hold], held: Sequence[Phrase | None]) -> tuple[RunHit, ...]:
    """The hits of a run, each with how it is held."""
    return tuple(
        RunHit(
            step.step,
            step.bends,
            step.ram.opening.open_height_mm,
            step.stops.x_mm,
            step.stops.retract_mm,
            hold,
            len(step.moves),
            words,
        )
        for step, hold, words in zip(steps, holds, held, strict=True)
    )


def table_rows(hits: Sequence[RunHit], kept: Collection[Supply] = ()) -> Iterator[dict[str, Any]]:
    """Every phase of every hit, a row each, by codes.

    `by_hand_from`: of a part that is taken out, the step from which a person bends it on; None once all is bent.
    """
    following = [*(hit.step for hit in hits[1:]), None]
    for hit, then in zip(hits, following, strict=False):
        for phase in phases(hit.hold):
            stops = {f"after_{stop}": phase.after(stop, kept) for stop in STOPS}
            left = then if phase.bend == "made" else hit.step
            yield {"step": hit.step, "bends": list(hit.bends), "phase": phase.code, **stops, "by_hand_from": left}
