"""One machine with a part's offers: what is shared by all blanks, and what is known of an operation and of a plan."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from flangewise.jobs import Job

from .rack import Blank, Choice, choices
from .seconds import Clock
from .stops import Finger, finger_of

BREACH_S = 1e5
KG_PER_MM3 = 1e-9


@dataclass(frozen=True)
class Hit:
    """One operation of a plan; bends count from 0, `choice` among those of the bend.

    `told`: the tilted ways a plan tells of it by their moves, and how far the ram is open then.
    """

    bend: int
    choice: int
    marked_up: bool
    start_behind: bool
    on_flange: bool
    done: int
    told: tuple[tuple[str, tuple[tuple[float, ...], ...]], ...] = ()
    told_open_mm: float = 0.0


@dataclass(frozen=True)
class Looked:
    """What is known of one operation: its worst verdict and why, its bare strokes, its way out, its stop."""

    verdict: int
    why: str
    strokes_s: float = 0.0
    slid: bool = False
    x_mm: float | None = None
    tilts: int = 0


@dataclass(frozen=True)
class Plan:
    """A plan with its price; `near` where it stands or falls with a limit it just keeps."""

    hits: tuple[Hit, ...]
    blank: Blank
    cost_s: float
    breach: float
    near: tuple[str, ...] = ()
    struck: tuple[str, ...] = ()

    @property
    def weight(self) -> float:
        """What plans are compared by."""
        return self.cost_s + BREACH_S * self.breach


@dataclass(eq=False)
class Bench:
    """A part on one machine; `kept` is all that was looked at, by what it depends on."""

    job: Job
    kept: dict[tuple[object, ...], object] = field(default_factory=dict)

    @cached_property
    def choices(self) -> tuple[tuple[Choice, ...], ...]:
        """Ways of having the tools, by bend."""
        return tuple(choices(self.job, bend) for bend in self.job.part.section.bends)

    @cached_property
    def clock(self) -> Clock:
        """What everything takes."""
        part = self.job.part
        return Clock(self.job.centre, part.thickness_mm, part.section.length_mm)

    @cached_property
    def finger(self) -> Finger:
        """The stops' finger."""
        return finger_of(self.job.machine)

    @property
    def kg_per_mm(self) -> float:
        """Mass of the sheet for one mm of its developed length."""
        part = self.job.part
        return self.job.material.density_kg_per_m3 * KG_PER_MM3 * part.thickness_mm * part.section.length_mm

    def strokes_s(self, choice: Choice, open_mm: float, reach_mm: float, front_mm: float) -> float:
        """All strokes of a choice."""
        both = zip(choice.hits, choice.tools, strict=True)
        return sum(
            self.clock.stroke_s(pair, tools, open_mm=open_mm, reach_mm=reach_mm, front_mm=front_mm)
            for pair, tools in both
        )

    def mark_s(self, hit: Hit) -> float:
        """The wish against the good face on the die where either face could lie there."""
        good = {"marked": True, "other": False}.get(self.job.part.good_face)
        if good is None or self.job.part.section.bends[hit.bend].kind != "offset":
            return 0.0
        return 0.0 if hit.marked_up == good else self.job.handler.mark_wish_s
