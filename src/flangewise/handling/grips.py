"""Where a section may be held: all grips with one gripper, asked step by step; and what each is asked to carry."""

import math
from dataclasses import replace

import numpy as np
import shapely

from flangewise.geometry import Path, Points, done_angles, section_path
from flangewise.handling.gripper import Grip, GripFrame, GripperShape, HeldPart, frame_of, grips_of, mass_centre_mm
from flangewise.handling.holding_force import HeldMass
from flangewise.handling.step_grips import Around, Bools, InHand, StepGrips, grips_at_step
from flangewise.handling.strength import Strength, strength_of
from flangewise.sequence import Candidate, SectionProblem, done_zones


class GripTable:
    """All grips of a section with one gripper, asked step by step; answers are kept."""

    def __init__(
        self, problem: SectionProblem, part: HeldPart, shape: GripperShape, around: Around, *, slack_mm: float = 0.0
    ) -> None:
        """`slack_mm`: as of `InHand`."""
        self.problem, self.part, self.shape, self.around, self._slack_mm = problem, part, shape, around, slack_mm
        self.grips = grips_of(part, shape)
        self._asked = InHand(problem, part, shape, self.grips, around, slack_mm)
        self._kept: dict[tuple[Candidate, int], StepGrips] = {}
        self._strengths: dict[int, tuple[Strength, ...]] = {}

    def strengths(self, done: int) -> tuple[Strength, ...]:
        """What every grip is asked when the operations of a set are made."""
        if done not in self._strengths:
            path = section_path(self.part.chain, done_angles(self.part.chain, done_zones(self.problem, done)))
            centre = mass_centre_mm(path.points_mm)
            self._strengths[done] = tuple(self._strength(grip, path, centre) for grip in self.grips)
        return self._strengths[done]

    def _strength(self, grip: Grip, path: Path, centre: Points) -> Strength:
        part = self.part
        flat_mm, t = part.chain.flats_mm[grip.flat], part.chain.thickness_mm
        ends = path.ends_mm(2 * grip.flat)
        frame = frame_of(grip, ends, flat_mm, toward_end=True, marked_up=True, thickness_mm=t)
        # With slack the least that it may weigh, and as near to the pads as it may hang.
        nearer_mm, share = 2 * self._slack_mm, max(1 - self._slack_mm / part.chain.developed_mm, 0.0)
        along, off = (math.copysign(max(abs(mm) - nearer_mm, 0.0), mm) for mm in frame.seen_mm(centre).tolist())
        held = HeldMass(share * part.mass_kg, along, grip.beside_mm, off)
        return strength_of(self.shape, grip.kind, held, length_mm=part.length_mm)

    def strong(self, done: int) -> tuple[Bools, Bools]:
        """Which grips the gripper holds, and which the arm carries; what cannot be computed speaks against none."""
        all_of = self.strengths(done)
        return np.array([each.holds is not False for each in all_of], dtype=bool), np.array(
            [each.carries is not False for each in all_of], dtype=bool
        )

    def at(self, way: Candidate, done: int, *, stops_mm: tuple[float, float] | None = None) -> StepGrips:
        """Which grips hold at a step; `stops_mm`: X and R of the fingers, which jaws behind the punch keep off."""
        if (way, done) not in self._kept:
            before, after = self.strong(done), self.strong(done | 1 << way.operation)
            strong = before[0] & after[0], before[1] & after[1]
            self._kept[way, done] = grips_at_step(self._asked, way, done, strong)
        found = self._kept[way, done]
        gauge = self.problem.gauge
        if stops_mm is None or gauge is None:
            return found
        finger = shapely.Polygon(np.array(gauge.finger_mm) + np.array([-stops_mm[0], stops_mm[1]]))
        pairs = zip(self.grips, found.frames, strict=True)
        at_stops = np.array([self._at_stops(grip, frame, finger) for grip, frame in pairs], dtype=bool)
        if not at_stops.any():
            return found
        against = tuple(
            "stops" if hit and why is None else why for hit, why in zip(at_stops.tolist(), found.against, strict=True)
        )
        return replace(
            found,
            load=found.load & ~at_stops,
            through=found.through & ~at_stops,
            drawn_away=found.drawn_away & ~at_stops,
            against=against,
        )

    def _at_stops(self, grip: Grip, frame: GripFrame | None, finger: shapely.Geometry) -> bool:
        """Whether a jaw behind the punch comes to the fingers, which stand at the ends of the edge as a rule."""
        if grip.kind != "end" or frame is None or frame.at_mm[0] > 0:
            return False
        body = shapely.Polygon(frame.body_mm(self.shape.body_mm("end")))
        return bool(shapely.distance(body, finger) < self.shape.row.fingers_clear_mm)
