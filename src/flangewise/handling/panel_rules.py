"""What is asked of a panel's grips at a hit, and the rules of the part alone: sides, bend zones, the arm's side.

Rules about bend zones are common practice; their distances stand in the gripper's row.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
import shapely

from flangewise.clearance import Body, Solids
from flangewise.geometry import Frame
from flangewise.handling.gripper import SAME_MM, GripperShape
from flangewise.handling.panel_bodies import ENDLESS, Run
from flangewise.handling.panel_grip import PanelBody, PanelGrip, pads_of, strip_of
from flangewise.handling.step_grips import LEANS_BACK, PART_CLEAR_MM, Against
from flangewise.panel_order import PanelShapes, PanelStep, SpaceHit, StandingRow, standing
from flangewise.records import dataclass

# An arm that points along the bed to within this, or to the back by no more, is taken for one that does, or does not.
ALONG_BED, TO_THE_BACK = 0.94, 0.26


@dataclass(frozen=True)
class AtHit:
    """A hit as its grips are asked: where tools stand, how far the ram opens; `then` flattens a hem.

    `whatever_rows`: it stands for the hit with all rows that make it, and with all ways out that these leave; the ram
    opens by `opening_mm` at least.
    """

    step: PanelStep
    hit: SpaceHit
    opening_mm: float
    then: AtHit | None = None
    whatever_rows: bool = False

    @property
    def done(self) -> frozenset[int]:
        """The bends made before."""
        return self.step.done

    @property
    def done_after(self) -> frozenset[int]:
        """The bends that are bent once it is made."""
        return self.done | frozenset(self.step.operation.bends)


class PanelInHand:
    """A panel, a gripper and its grips; what of them no step changes."""

    def __init__(self, shapes: PanelShapes, shape: GripperShape, grips: Sequence[PanelGrip]) -> None:
        self.shapes, self.shape, self.grips = shapes, shape, tuple(grips)
        self.body = PanelBody(shape)
        self.bare, self.grown = (Solids(self.body.pieces(mm)) for mm in (0.0, PART_CLEAR_MM))
        self.thickness_mm = shapes.blank.thickness_mm

    @property
    def pieces(self) -> int:
        """How many convex pieces the body is of."""
        return len(self.bare.each)

    @lru_cache(maxsize=4096)  # noqa: B019 (lives as long as the plan that it is asked for)
    def bends_beside_mm(self, number: int) -> tuple[tuple[int, float, float, float], ...]:
        """The bends beside the face of a grip: number, how far the pads are from the strip, half its width, radius."""
        grip, blank = self.grips[number], self.shapes.blank
        pads = pads_of(grip, self.shape)
        return tuple(
            (
                zone.bend,
                float(shapely.distance(strip_of(zone), pads)),
                zone.allowance.allowance_mm / 2,
                zone.inside_radius_mm,
            )
            for zone in blank.zones
            if grip.face in (zone.face_from, zone.face_to)
        )


def tools_of(at: AtHit) -> Iterator[tuple[Body, Run]]:
    """The bodies that stand there at a hit, each over each of its stretches of the bed."""
    punch, die = at.step.punch, at.step.die
    rows = (StandingRow.of(each.row, each.from_mm) for each in (punch, die))
    for tool in standing(at.hit, *rows):
        for run in (ENDLESS,) if tool.along_mm is None else tool.along_mm:
            yield tool.body, run


def broken_rule(asked: PanelInHand, at: AtHit, number: int, lying: Frame, *, front: bool) -> Against | None:
    """What of the part's own rules a grip breaks at a hit, its axes lying so in the machine; None where none.

    Behind the tools only a jaw holds whose arm lies along the bed, as at a section's end.
    """
    grip, row = asked.grips[number], asked.shape.row
    arm, _, away = np.array(lying.rotation).T
    along_bed = abs(float(arm[0])) >= ALONG_BED
    if not front and (grip.kind == "face" or not along_bed):
        return "gauge-side"
    if not _off_the_bends(asked, at, number):
        return "bend-zone"
    if grip.kind == "edge":
        if ("end" if along_bed else "edge") not in row.may_hold:
            return "not-this-side"
        return "arm-behind" if not along_bed and arm[1] > TO_THE_BACK else None
    if ("above" if away[2] >= LEANS_BACK else "below") not in row.may_hold:
        return "not-this-side"
    return "arm-behind" if not asked.shape.along_alike and arm[1] > SAME_MM else None


def _off_the_bends(asked: PanelInHand, at: AtHit, number: int) -> bool:
    """As of a section: half the die's opening, sheet and more from the line that is bent now; from one that is formed
    its radius, sheet and more; more than the strip of one that is still to come."""
    more_mm, t = asked.shape.row.bend_free_mm, asked.thickness_mm
    for bend, apart_mm, half_mm, radius_mm in asked.bends_beside_mm(number):
        limit_mm = half_mm + more_mm
        if bend in at.hit.operation.bends:
            limit_mm = at.hit.tools.stack.opening_mm / 2 + t + more_mm
        elif bend in at.done:
            limit_mm = radius_mm + t + more_mm
        if apart_mm < max(limit_mm - half_mm, more_mm) - SAME_MM:
            return False
    return True
