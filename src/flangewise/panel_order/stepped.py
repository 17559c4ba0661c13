"""An offset of a panel pressed in one hit: both wings go level from the higher land to their own, against each other.

As `sequence` has it of a section: how the web and its two bends run between the lands on the way is not known; the
wings are, and so is the end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from flangewise.clearance import (
    Slide,
    Solid,
    SpaceMeeting,
    ToolRegions,
    half_mm,
    pressed_regions,
    slid_into,
    way_out_of_row,
)
from flangewise.geometry import Frame, Points, SpacePoints
from flangewise.panel_order.gaps import along_the_bed_mm
from flangewise.panel_order.gauging import PanelGauging
from flangewise.panel_order.hit import SpaceHit
from flangewise.panel_order.leaving import UNLIMITED_MM, Leaving, StandingRow, standing
from flangewise.panel_order.lying import straight_pull_mm
from flangewise.panel_order.operations import PanelOperation
from flangewise.panel_order.wings import Wing
from flangewise.pattern import OffsetZone
from flangewise.sequence import Hit as ToolHit

# An offset is pressed hard between its tools: so much of it may seem to lie in them.
PRESSED_MM = 0.3
LEAST_HALF_MM = 0.05


def step_fits(operation: PanelOperation, tools: ToolHit, *, parent_behind: bool) -> bool:
    """Whether the step of an offset faces the way its tools want it: from behind to the front it rises or falls."""
    rises = (operation.zones[0].toward == operation.marked_up) == parent_behind
    behind_mm, front_mm = tools.stack.levels_mm
    return rises == (front_mm > behind_mm)


class SteppedHit(SpaceHit):
    """An offset in one pose with one pair of tools."""

    @property
    def _zones(self) -> tuple[OffsetZone, ...]:
        return tuple(zone for zone in self.operation.zones if isinstance(zone, OffsetZone))

    def level_mm(self, *, behind: bool) -> float:
        """Where a wing's land lies, from the die's top."""
        return self.tools.stack.levels_mm[0 if behind else 1]

    @property
    def nose_mm(self) -> float:
        """How high the punch's lower land stands at the end."""
        return min(self.tools.stack.levels_mm) + self.shapes.blank.thickness_mm

    @property
    def end_mm(self) -> float:
        """From the middle plane to where a wing begins when it is formed."""
        return self._zones[0].across_mm(self.shapes.blank.thickness_mm) / 2

    def _slide(self, *, behind: bool) -> Slide:
        thickness_mm, high_mm = self.shapes.blank.thickness_mm, max(self.tools.stack.levels_mm)
        start = (self.operation.half_zone_mm, high_mm + thickness_mm / 2)
        end = (self.end_mm, self.level_mm(behind=behind) + thickness_mm / 2)
        return Slide(start, end, high_mm + thickness_mm, self.nose_mm)

    def _regions(self, *, behind: bool) -> ToolRegions:
        return pressed_regions(
            self.tools.stack,
            self._slide(behind=behind),
            thickness_mm=self.shapes.blank.thickness_mm,
            reach_mm=self.shapes.reach_mm,
            behind=behind and not self.tools.stack.symmetric,
        )

    def _meeting(self, front: tuple[int, int], behind: tuple[int, int]) -> SpaceMeeting | None:
        """Solids of the wing in front that slide into solids of the wing behind."""
        half, start_mm = half_mm(self.shapes.blank.thickness_mm), self.operation.half_zone_mm
        # As the wing in front sees it, both flat on the higher land.
        turned = Frame(((-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)), (0.0, -2 * start_mm, 0.0))
        rise_mm = self.level_mm(behind=False) - self.level_mm(behind=True)
        way_mm = (0.0, 2 * (self.end_mm - start_mm), rise_mm)
        found = None
        for other, its in enumerate(self.behind.solids(*behind, half)):
            laid = Solid(turned.place(its.under_mm), turned.place(its.over_mm), (its, turned))
            for one, solid in enumerate(self.front.solids(*front, half)):
                overlap_mm = slid_into(solid, laid, way_mm)
                if overlap_mm > (found.overlap_mm if found is not None else 0.0):
                    found = SpaceMeeting(one, other, self.operation.zones[0].turn_deg, overlap_mm)
        return found

    @property
    def lowest_mm(self) -> float:
        """How high the punch's lower land stands at the end."""
        return self.nose_mm

    def through_mm(self, points_mm: Points, count: int, *, behind: bool) -> SpacePoints:
        """Points (out, up) of a wing at moments of its straight way: toward the operator, over the die's top."""
        slide = self._slide(behind=behind)
        start, end = np.array(slide.edge_start_mm), np.array(slide.edge_end_mm)
        edges = start + np.linspace(0.0, 1.0, count)[:, None] * (end - start)
        laid: SpacePoints = points_mm[None] + edges[:, None]
        return laid * np.array([-1.0, 1.0]) if behind else laid

    def retract_mm(self, done: frozenset[int], gauged: PanelGauging) -> float:
        """None: the wing behind goes level, and away from the fingers."""
        return 0.0

    def leaves(
        self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None, *, turned: bool = True
    ) -> Leaving | None:
        """How the part leaves the tools; None: not known."""
        limit_mm = self.tools.stack.open_limit_mm
        out = way_out_of_row(
            list(standing(self, row, die)),
            list(self._formed(done)),
            nose_mm=self.nose_mm,
            most_mm=(UNLIMITED_MM if limit_mm is None else limit_mm) - self.nose_mm,
            likely_mm=straight_pull_mm(self, done) - self.nose_mm,
        )
        if out is None:
            return None
        most_mm = out.most_lift_mm + self.nose_mm
        return Leaving(
            "up" if out.straight_up else "front",
            out.lift_mm + self.nose_mm,
            out.along_bed,
            most_opening_mm=most_mm,
        )

    def leaves_turned(self, done: frozenset[int], row: StandingRow) -> Leaving | None:
        """None: between two lands no way turned in the plane is looked for."""
        return None

    def _formed(self, done: frozenset[int]) -> Iterator[SpacePoints]:
        """The corners of all solids when the offset is pressed: along the bed, across toward the operator, up."""
        half = max(LEAST_HALF_MM, self.shapes.blank.thickness_mm / 2 - PRESSED_MM)
        for wing, behind in ((self.front, False), (self.behind, True)):
            solids = [solid for node in wing.nodes(done) for solid in wing.solids(*node, half)]
            if behind == self.parent_behind:
                solids += self._webs(wing, half)
            side = -1.0 if behind else 1.0
            up_mm = self.level_mm(behind=behind) + self.shapes.blank.thickness_mm / 2
            for solid in solids:
                x, out, up = solid.corners_mm.T
                yield np.column_stack([self.shift_mm - side * x, side * (self.end_mm + out), up_mm + up])

    def _webs(self, parent: Wing, half_mm: float) -> list[Solid]:
        """The webs and their bends, formed, as the wing sees them on which they hang."""
        found: list[Solid] = []
        for zone in self._zones:
            lies = parent.frame(zone.face_from, 0)
            web, beyond = (part.face_to for part in zone.parts)
            stands = lies.after(self.shapes.motion(web, bent=True, outward=True))
            found += self.shapes.bend(web, half_mm, bent=True).placed(lies)
            found += self.shapes.plates(web, half_mm).placed(stands)
            found += self.shapes.bend(beyond, half_mm, bent=True).placed(stands)
        return found

    def clearance_mm(self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None) -> float | None:
        """Least distance from what lies beyond the lands to what the tools sweep where rows stand, never too much."""
        half, least = self.shapes.blank.thickness_mm / 2, along_the_bed_mm(self.forbidden(done), row, die)
        for wing, behind in ((self.front, False), (self.behind, True)):
            solids = [solid for node in wing.nodes(done) if node[1] for solid in wing.solids(*node, half)]
            if not solids:
                continue
            stands = (row.from_mm, row.to_mm), (-math.inf, math.inf) if die is None else (die.from_mm, die.to_mm)
            sign = 1.0 if behind else -1.0
            own = [tuple(sorted(sign * (mm - self.shift_mm) for mm in run)) for run in stands]
            least = min(least, self._regions(behind=behind).apart_mm(solids, punch_mm=own[0], die_mm=own[1]))
        return None if math.isinf(least) else max(least, 0.0)
