"""Brake and robot in step: what each does at a hit, what it waits for, and what is done after a stop in between.

Signals are told by what they mean, so that they can be wired to any inputs and outputs. What is done after a stop
follows from what a stop leaves: without power the arm's hold and the ram's place are in doubt, without air the jaw's
hold is, and after a zone stop all stand as they stood. A judgement for the table of a run, to be agreed on site.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from flangewise.setup import SetupStep
from flangewise.words import Phrase

AfterStop = Literal["go-on", "take-out", "scrap"]
Hold = Literal["let-go", "follow", "by-hand"]
STOPS = ("power", "air", "zone")


@dataclass(frozen=True)
class Phase:
    """One phase of a hit: what is done after a stop without power, without air, and at a person in the zone.

    What brake and robot do in it, and what ends it, stand in the catalogue by its code.
    """

    code: str
    after_power: AfterStop
    after_air: AfterStop
    after_zone: AfterStop


# Nothing is bent yet: the blank is taken out and may be laid on again.
BEFORE = (
    Phase("load", "take-out", "take-out", "go-on"),
    Phase("seated", "take-out", "take-out", "go-on"),
    Phase("pinched", "take-out", "take-out", "go-on"),
)
# Half bent a part cannot be seated again, and a ram that lost its place does not find the depth: without power it is
# scrap. A jaw that let go misses no air; one that follows loses the part's swing: taken out and measured.
MIDST: dict[str, tuple[Phase, ...]] = {
    "let-go": (Phase("let-go", "take-out", "go-on", "go-on"), Phase("bent", "scrap", "go-on", "go-on")),
    "follow": (Phase("follow", "take-out", "take-out", "go-on"), Phase("bent", "scrap", "take-out", "go-on")),
}
HELD = Phase("held", "take-out", "take-out", "go-on")
BEHIND = (Phase("open", "take-out", "take-out", "go-on"), Phase("taken", "take-out", "take-out", "go-on"))


def phases(hold: Hold) -> tuple[Phase, ...]:
    """The phases of a hit in order, none of one by hand; a jaw that let go takes hold again before the punch leaves."""
    if hold == "by-hand":
        return ()
    return (*BEFORE, *MIDST[hold], *((HELD,) if hold == "let-go" else ()), *BEHIND)


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


def table_rows(hits: Sequence[RunHit]) -> Iterator[dict[str, Any]]:
    """Every phase of every hit, a row each, by codes."""
    for hit in hits:
        for phase in phases(hit.hold):
            yield {"step": hit.step, "bends": list(hit.bends), "phase": phase.code, **_after(phase)}


def _after(phase: Phase) -> dict[str, str]:
    return {f"after_{stop}": getattr(phase, f"after_{stop}") for stop in STOPS}
