"""A hem of a panel flattened: the flange folded back over what it hangs on, both between flat tools.

The larger side of the part lies on the lower plate, the middle of the other under the plates, as `sequence` has it of a
section; the upper plate comes down from far above. Both wings lie as they do when the hem is closed.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from flangewise.clearance import (
    LIFT_MM,
    Slide,
    SpaceMeeting,
    ToolRegions,
    at_rest,
    half_mm,
    pressed_regions,
    way_out_of_row,
)
from flangewise.geometry import Frame, SpacePoints
from flangewise.panel_order.gauging import PanelGauging
from flangewise.panel_order.hit import SpaceHit
from flangewise.panel_order.leaving import UNLIMITED_MM, Leaving, StandingRow, standing
from flangewise.panel_order.lying import area_mm2
from flangewise.panel_order.operations import PanelOperation
from flangewise.panel_order.wings import PanelShapes, Wing
from flangewise.sequence import Hit as ToolHit, Hold, HoldRule

ASKED_OF_FIRST = "how a hem lies and where stops touch is asked of the hit before it is flattened"
CHORDS = 8


class PressedHit(SpaceHit):
    """The flattening of a hem; what it asks of stops and hands was asked before its first hit."""

    def __init__(
        self, shapes: PanelShapes, operation: PanelOperation, *, parent_behind: bool, tools: ToolHit, bent_deg: float
    ) -> None:
        """`bent_deg`: the turn that the first hit left."""
        super().__init__(shapes, operation, parent_behind=parent_behind, tools=tools)
        self.bent_deg = bent_deg

    @cached_property
    def body_behind(self) -> bool:
        """Whether what lies on the lower plate, the larger side of the part, lies behind."""
        flat = frozenset[int]()
        front_mm2, behind_mm2 = (area_mm2(wing, flat) for wing in (self.front, self.behind))
        return behind_mm2 > front_mm2 or (behind_mm2 == front_mm2 and self.parent_behind)

    @property
    def _body(self) -> Wing:
        return self.behind if self.body_behind else self.front

    @property
    def _leg(self) -> Wing:
        return self.front if self.body_behind else self.behind

    @cached_property
    def leg_mm(self) -> float:
        """How long the flat of the flange is that is folded over."""
        roots = [face for face, branch in self._leg.branches.items() if not branch.path]
        plates = [solid for face in roots for solid in self._leg.plates(face, 0, 0.0)]
        return max(float(solid.corners_mm[:, 1].max()) for solid in plates)

    @cached_property
    def high_mm(self) -> float:
        """From the middle of the one layer to that of the other."""
        return 2 * self.operation.zones[0].inside_radius_mm + self.shapes.blank.thickness_mm

    @property
    def nose_mm(self) -> float:
        """How high the upper plate stands over the lower one at the end."""
        return self.high_mm + self.shapes.blank.thickness_mm

    def _regions(self, *, behind: bool) -> ToolRegions:
        is_leg, thickness_mm = behind != self.body_behind, self.shapes.blank.thickness_mm
        at = (-self.leg_mm / 2, thickness_mm / 2 + (self.high_mm if is_leg else 0.0))
        top_mm = self.nose_mm
        return pressed_regions(
            self.tools.stack,
            Slide(at, at, top_mm if is_leg else top_mm + LIFT_MM, top_mm, turned_over=is_leg),
            thickness_mm=thickness_mm,
            reach_mm=self.shapes.reach_mm,
            behind=self.body_behind and not self.tools.stack.symmetric,
        )

    def _meeting(self, front: tuple[int, int], behind: tuple[int, int]) -> SpaceMeeting | None:
        """Solids of the folded flange in solids of what it lies on."""
        half = half_mm(self.shapes.blank.thickness_mm)
        over = Frame(((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)), (0.0, 0.0, self.high_mm))
        leg, body = (front, behind) if self.body_behind else (behind, front)
        found = None
        for one, solid in enumerate(self._leg.solids(*leg, half)):
            laid = type(solid)(over.place(solid.under_mm), over.place(solid.over_mm), (solid, over))
            for other, its in enumerate(self._body.solids(*body, half)):
                overlap_mm = at_rest(laid, its)
                if overlap_mm > (found.overlap_mm if found is not None else 0.0):
                    numbers = (one, other) if self.body_behind else (other, one)
                    found = SpaceMeeting(*numbers, self.operation.zones[0].turn_deg, overlap_mm)
        return found

    def _pieces(self, done: frozenset[int]) -> list[SpacePoints]:
        """All corners on the lower plate: along the bed, across toward the operator, up; the fold as one solid."""
        half, thickness_mm = half_mm(self.shapes.blank.thickness_mm), self.shapes.blank.thickness_mm
        side, found = -1.0 if self.body_behind else 1.0, []
        for wing, up, low_mm in ((self._body, 1.0, 0.0), (self._leg, -1.0, self.high_mm)):
            along = 1.0 if wing is self.behind else -1.0
            for node in wing.nodes(done):
                for solid in wing.solids(*node, half):
                    x, out, over = solid.corners_mm.T
                    laid = side * (out - self.leg_mm / 2), thickness_mm / 2 + low_mm + up * over
                    found.append(np.column_stack([self.shift_mm + along * x, *laid]))
        angles = np.linspace(np.pi / 2, 3 * np.pi / 2, CHORDS + 1)
        reach_mm = self.high_mm / 2 + half
        arc = np.column_stack([reach_mm * np.cos(angles) - self.leg_mm / 2, reach_mm * np.sin(angles)])
        arc[:, 1] += thickness_mm / 2 + self.high_mm / 2
        for low, high in self.runs_mm:
            ring = np.tile(arc * np.array([side, 1.0]), (2, 1))
            found.append(np.column_stack([np.repeat([low, high], len(arc)), ring]))
        return found

    def stops(self, done: frozenset[int]) -> tuple[PanelGauging, ...]:
        """None: the hem is laid under the plates by hand."""
        return ()

    def retract_mm(self, done: frozenset[int], gauged: PanelGauging) -> float:
        """Nothing: there are no stops."""
        return 0.0

    def opening_mm(self, done: frozenset[int]) -> float:
        """What must pass between the plates: the highest of what lies between or behind, over what hangs down there.

        When it is laid there the flange still stands up as its first hit left it.
        """
        inside = [piece[piece[:, 1] < self.leg_mm / 2] for piece in self._pieces(done)]
        ups = np.concatenate([piece[:, 2] for piece in inside])
        return max(float(ups.max()), self.nose_mm, self._fed_mm(done)) - min(float(ups.min()), 0.0)

    def _fed_mm(self, done: frozenset[int]) -> float:
        """How high the flange stands over the lower plate before it is flattened."""
        half, turn = self.shapes.blank.thickness_mm / 2, math.radians(self.bent_deg)
        middle_mm = self.operation.zones[0].inside_radius_mm + half
        solids = [solid for node in self._leg.nodes(done) for solid in self._leg.solids(*node, half)]
        ups = [solid.corners_mm[:, 1:] @ (math.sin(turn), math.cos(turn)) for solid in solids]
        return half + middle_mm * (1 - math.cos(turn)) + max(float(up.max()) for up in ups)

    def reach_mm(self, done: frozenset[int]) -> float:
        """How far the part reaches from the middle of the plates, to either side."""
        return max(float(np.hypot(piece[:, 1], piece[:, 2]).max()) for piece in self._pieces(done))

    def front_mm(self, done: frozenset[int]) -> float:
        """How far it reaches out in front of the middle of the plates."""
        return max(float(piece[:, 1].max()) for piece in self._pieces(done))

    def hold(self, done: frozenset[int], rule: HoldRule) -> Hold:
        """Raises NotImplementedError: it is asked of the hem's first hit."""
        raise NotImplementedError(ASKED_OF_FIRST)

    def leaves(
        self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None, *, turned: bool = True
    ) -> Leaving | None:
        """How the part leaves the plates; None: not known."""
        limit_mm = self.tools.stack.open_limit_mm
        most_mm = (UNLIMITED_MM if limit_mm is None else limit_mm) - self.nose_mm
        tools = list(standing(self, row, die))
        out = way_out_of_row(tools, self._pieces(done), nose_mm=self.nose_mm, most_mm=most_mm)
        if out is None:
            return None
        return Leaving("up" if out.straight_up else "front", out.lift_mm + self.nose_mm, out.along_bed)

    def leaves_turned(self, done: frozenset[int], row: StandingRow) -> Leaving | None:
        """None: between the plates no way turned in the plane is looked for."""
        return None

    def clearance_mm(self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None) -> float | None:
        """None: the plates lie on the sheet, and what stands beside them is told by its stretches."""
        return None
