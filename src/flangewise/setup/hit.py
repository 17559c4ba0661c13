"""One stroke to be set up, and what all strokes of a part share."""

from __future__ import annotations

from dataclasses import dataclass

from flangewise.findings import place
from flangewise.punch_die import Mounting, PunchDie, Station
from flangewise.sequence import Step
from flangewise.setup.step import Chosen, HitKind
from flangewise.shop import Handler, Machine
from flangewise.words import Phrase


@dataclass(frozen=True)
class Hit:
    """One stroke: its number in the plan, the step it belongs to, its pair, and whether it is a step's second."""

    number: int
    chosen: Chosen
    pair: PunchDie
    mounting: Mounting
    is_second: bool

    @property
    def step(self) -> Step:
        """The step of the order."""
        return self.chosen.step

    @property
    def place(self) -> Phrase:
        """The step of the plan, as a finding names it."""
        return place("step", self.number)

    @property
    def kind(self) -> HitKind:
        """What the stroke does."""
        return "pre-bend" if self.pair.kind == "hem" else self.pair.kind

    @property
    def finished_turn_deg(self) -> float:
        """What the stroke leaves: of a pre-bend its own turn, else the bend's."""
        own = self.pair.turn_deg
        return own if self.kind == "pre-bend" and own is not None else self.chosen.finished_turn_deg


@dataclass(frozen=True)
class Work:
    """What all hits of a part share."""

    machine: Machine
    handler: Handler
    length_mm: float
    thickness_mm: float
    mass_kg: float
    tolerance_mm: float | None
    stations: tuple[Station, ...]
    zone_bends: tuple[int, ...]

    def station_of(self, mounting: Mounting) -> Station:
        """Where a pair stands."""
        return next(station for station in self.stations if station.carries(mounting))

    def bend_of(self, zone: int | None) -> int | None:
        """The number of the bend that a zone of the section belongs to; None for no zone."""
        if zone is None:
            return None
        return self.zone_bends[zone] if self.zone_bends else zone + 1
