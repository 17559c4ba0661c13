"""Everything that is printed on the sheet of a panel: the part, its blank and its set-up as they were worked out."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from flangewise.panel_order import PanelStep
from flangewise.part import PanelPart
from flangewise.pattern import BendZone, PanelBlank
from flangewise.punch_die import Mounting
from flangewise.records import dataclass
from flangewise.setup import PanelSize, SetupStep, panel_step, words_before
from flangewise.sheet.data import Printed
from flangewise.words import Phrase

if TYPE_CHECKING:
    from flangewise.handling import HeldAt


@dataclass(frozen=True)
class PanelHit:
    """One hit: what is keyed in, what is done before it, and where a gripper holds the part, None where none does."""

    keyed: SetupStep
    moves: tuple[Phrase, ...]
    held: HeldAt | None = None

    @property
    def ordered(self) -> PanelStep:
        """The step of the order behind it."""
        return panel_step(self.keyed.planned)

    @property
    def zones(self) -> tuple[BendZone, ...]:
        """What it forms."""
        return self.ordered.operation.zones

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of the bend lines it forms."""
        return tuple(zone.label for zone in self.zones)

    @property
    def mounting(self) -> Mounting:
        """The pair as it is put in."""
        return self.keyed.planned.mounting

    @property
    def new_load(self) -> bool:
        """A panel is looked at anew before every hit: what is up has changed."""
        return True


@dataclass(frozen=True, kw_only=True)
class PanelSheet(Printed):
    """The sheet of one panel, whole; the sheet computes none of it."""

    part: PanelPart
    blank: PanelBlank
    sizes: tuple[PanelSize, ...]
    grips: tuple[HeldAt, ...] = ()

    @cached_property
    def steps(self) -> tuple[PanelHit, ...]:
        """All hits in order."""
        keyed, held = self.setup.steps, {each.step: each for each in self.grips}
        return tuple(
            PanelHit(step, words_before(step, before), held.get(step.step))
            for before, step in zip((None, *keyed), keyed, strict=False)
        )

    @property
    def mountings(self) -> tuple[Mounting, ...]:
        """Each pair once, in the order of use."""
        return tuple({step.mounting.name: step.mounting for step in self.steps}.values())

    def name(self, face: int) -> str:
        """The name of a face."""
        return next(each.name for each in self.blank.faces if each.number == face)

    @property
    def sizes_key(self) -> str:
        """A size goes by its name."""
        return "panel"

    def sized(self, leg: int) -> str:
        """The name of a size by its number, as findings have it."""
        return str(dict(self.sizes[leg - 1].where.values)["number"])

    def asked(self, leg: int) -> str:
        """The flange, or the edges that the base is measured over."""
        return self.sizes[leg - 1].name

    def ends_of(self, leg: int) -> frozenset[int]:
        """The bends that end the size."""
        return frozenset(self.sizes[leg - 1].bends)
