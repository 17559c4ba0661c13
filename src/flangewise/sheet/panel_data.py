"""Everything that is printed on the sheet of a panel: the part, its blank and its set-up as they were worked out."""

from __future__ import annotations

from dataclasses import dataclass

from flangewise.panel_order import PanelStep
from flangewise.part import PanelPart
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Mounting
from flangewise.setup import SetupStep, panel_step
from flangewise.sheet.data import Printed


@dataclass(frozen=True, kw_only=True)
class PanelSheet(Printed):
    """The sheet of one panel, whole; the sheet computes none of it."""

    part: PanelPart
    blank: PanelBlank

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

    def name(self, face: int) -> str:
        """The name of a face."""
        return next(each.name for each in self.blank.faces if each.number == face)
