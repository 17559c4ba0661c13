"""One hit of a panel as the replay walks it: how the part lies, its wings as clouds, and its stroke."""

import math
from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity

from flangewise.records import dataclass, replace
from flangewise.replay.panel_fold import FACE_STEP_MM, Cloud, Lying, PanelNumbers, Wings, cloud_of, motion
from flangewise.replay.panel_plan import PanelPlanStep
from flangewise.replay.panel_press import Pressing, turned_up
from flangewise.replay.panel_step import Stepping
from flangewise.replay.panel_stroke import Moving, Side, Standing
from flangewise.replay.panel_ways import TurnedOut
from flangewise.replay.stroke import Vee

# What the first hit leaves of a hem where a plan does not say it.
PRE_BENT_DEG = 150.0
# Turned, the part is looked at by fewer points.
COARSE_MM = 4.0


@dataclass(frozen=True)
class PanelHit:
    """A step of a plan, the part before it; `begun_deg`: by how much a hem that it flattens was bent."""

    panel: PanelNumbers
    lying: Lying
    wings: Wings
    step: PanelPlanStep
    begun_deg: float | None

    @property
    def is_pressed(self) -> bool:
        """Whether it flattens a hem that was begun."""
        return self.step.is_pressed and self.begun_deg is not None

    @property
    def sides(self) -> Mapping[str, Side]:
        """On which side of the tools each wing lies."""
        behind = self.lying.parent_behind
        return {"parent": "behind" if behind else "before", "hung": "before" if behind else "behind"}

    def clouds(self, step_mm: float = FACE_STEP_MM) -> Mapping[str, Cloud]:
        """Both wings, with a point every so many mm on their faces."""
        return {
            kind: cloud_of(self.panel, self.lying, getattr(self.wings, kind), step_mm=step_mm) for kind in self.sides
        }

    @cached_property
    def by_side(self) -> Mapping[Side, Cloud]:
        """Both wings by the side on which they lie."""
        return {self.sides[kind]: cloud for kind, cloud in self.clouds().items()}

    @property
    def is_offset(self) -> bool:
        """Whether it presses two opposite bends at once."""
        return bool(self.panel.zone(self.lying.bends[0]).parts)

    @property
    def is_right_way_up(self) -> bool:
        """Whether the sheet goes where the tools take it: up on both sides, or over their step."""
        goes_up = (self.panel.zone(self.lying.bends[0]).turn_deg > 0) == self.step.marked_up
        # Tools set straight have their higher land behind: from behind to the front the step falls.
        return (goes_up == self.lying.parent_behind) == self.step.punch_turned if self.is_offset else goes_up

    def finished(self, step_mm: float) -> Mapping[str, Cloud]:
        """Both wings when the hit is made, the webs of offsets among them."""
        clouds = dict(self.clouds(step_mm))
        if self.is_offset:
            frames = dict(self.wings.parent)
            for zone in map(self.panel.zone, self.lying.bends):
                first = zone.parts[0]
                moved = motion(first, self.panel.thickness_mm, first.turn_deg)
                frames[first.face_to] = frames[first.face_from] @ moved
            bent = replace(self.lying, bends=(), done=self.lying.done | set(self.lying.bends))
            clouds["parent"] = cloud_of(self.panel, bent, frames, step_mm=step_mm)
        return clouds

    def stroke(self, vee: Vee) -> Moving | Pressing | Stepping:
        """How the wings go; of a hem that is begun the radius is what the told depth forms."""
        panel, zone = self.panel, self.panel.zone(self.lying.bends[0])
        if zone.parts:
            falls: Side = "behind" if self.step.punch_turned else "before"
            width_mm = zone.parts[0].width_mm
            return Stepping(panel.thickness_mm, zone.radius_mm, width_mm, zone.web_mm, abs(zone.turn_deg), falls)
        if self.is_pressed and self.begun_deg is not None:
            return Pressing(
                panel.thickness_mm,
                zone.radius_mm,
                zone.width_mm,
                self.begun_deg,
                self.sides[self._larger] == "behind",
                self.by_side["before" if self.sides[self._larger] == "behind" else "behind"],
            )
        told_deg, radius_mm = self.step.turn_deg(self.step.bend_to_deg), zone.radius_mm
        loaded_deg = abs(zone.turn_deg) if told_deg is None else told_deg
        if zone.is_hem and self.step.depth_mm is not None:
            radius_mm = _formed_mm(vee, panel.thickness_mm, loaded_deg, self.step.depth_mm)
        return Moving(vee, panel.thickness_mm, radius_mm, zone.width_mm, loaded_deg)

    def turned_out(self, bodies: Sequence[Standing], turn_deg: float) -> TurnedOut:
        """The part level on its larger side, sprung back, with the row inside."""
        zone, t = self.panel.zone(self.lying.bends[0]), self.panel.thickness_mm
        clouds = self.clouds(COARSE_MM)
        sheet = self._larger
        points = []
        for kind, cloud in clouds.items():
            x, out, up = cloud.points_mm[:, 0], cloud.points_mm[:, 1] - zone.width_mm / 2, cloud.points_mm[:, 2]
            if kind != sheet:
                out, up = turned_up(out, up, turn_deg, zone.radius_mm + t / 2)
            points.append(np.column_stack([x, out, up + t / 2]))
        punch = next(body for body in bodies if body.name == "punch" and not body.beside)
        if self.sides[sheet] == "behind":
            # Out from the bend is then away from the operator.
            punch = replace(punch, outline=shapely.affinity.scale(punch.outline, xfact=-1.0, origin=(0.0, 0.0)))
        return TurnedOut(np.vstack(points), t, punch)

    @cached_property
    def _larger(self) -> str:
        """The wing of more sheet: on the lower plate, or level on the die."""
        return max(self.sides, key=lambda kind: self._area_mm2(getattr(self.wings, kind)))

    def _area_mm2(self, frames: Mapping[int, object]) -> float:
        return sum(float(shapely.Polygon(face.ring_mm).area) for face in self.panel.faces if face.number in frames)


def _formed_mm(vee: Vee, thickness_mm: float, turn_deg: float, depth_mm: float) -> float:
    """The inside radius with which a turn is reached at a depth: the depth's formula the other way round."""
    half = math.radians(turn_deg) / 2
    shoulder_mm = vee.shoulder_radius_mm
    flat_mm = (thickness_mm + shoulder_mm - vee.opening_mm / 2 * math.sin(half)) / math.cos(half)
    return max(0.0, (depth_mm - shoulder_mm + flat_mm) / (1 - 1 / math.cos(half)))
