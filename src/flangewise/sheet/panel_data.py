"""Everything that is printed on the sheet of a panel: the part, its blank and its set-up as they were worked out."""

from __future__ import annotations

from dataclasses import dataclass

from flangewise.findings import Finding
from flangewise.panel_order import PanelStep
from flangewise.part import PanelPart
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Mounting, Station
from flangewise.setup import Load, Setup, SetupStep, panel_step
from flangewise.sheet.data import Attachment, Measure
from flangewise.shop import Handler, Machine, Material


@dataclass(frozen=True)
class PanelSheet:
    """The sheet of one panel, whole; the sheet computes none of it."""

    part: PanelPart
    material: Material
    thickness_tolerance_mm: float | None
    blank: PanelBlank
    setup: Setup
    machine: Machine
    handler: Handler
    loads: tuple[Load, ...]
    measures: tuple[Measure, ...]
    findings: tuple[Finding, ...]
    attachments: tuple[Attachment, ...] = ()

    @property
    def steps(self) -> tuple[SetupStep, ...]:
        """What is keyed in, hit by hit."""
        return self.setup.steps

    def hit(self, keyed: SetupStep) -> PanelStep:
        """The step of the order behind what is keyed in."""
        return panel_step(keyed.planned)

    @property
    def mountings(self) -> tuple[Mounting, ...]:
        """Each pair once, in the order of use."""
        return tuple({step.planned.mounting.name: step.planned.mounting for step in self.steps}.values())

    def stations_of(self, mounting: Mounting) -> tuple[Station, ...]:
        """Every station of a pair where it stands."""
        return tuple(station for station in self.setup.stations if station.carries(mounting))

    def name(self, face: int) -> str:
        """The name of a face."""
        return next(each.name for each in self.blank.faces if each.number == face)
