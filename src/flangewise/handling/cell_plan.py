"""The run of a part, whole: brake and robot in step, blanks in, parts out, distances, people and time."""

from collections.abc import Mapping
from typing import Any

from flangewise.findings import Finding
from flangewise.handling.cell import Distance, Inputs, Lost
from flangewise.handling.infeed import Stack
from flangewise.handling.nesting import Nest, Paired
from flangewise.handling.packing import Packed
from flangewise.handling.people import Lift
from flangewise.handling.run_table import RunHit, table_rows
from flangewise.handling.run_time import Compared, RunTime
from flangewise.part import Face, Programs
from flangewise.records import dataclass
from flangewise.shop import PartsBox, Supply


@dataclass(frozen=True)
class Out:
    """Finished parts on their way out: how they nest, what they go into, how many, how far they drop.

    `face` is the face of the blank that ends up; `drop_mm` is None where it was not entered; `part_kg` is
    one part's mass. `box_round_mm`: of a panel the box around it, which it is packed as; how panels lie in each other
    is not looked at.
    """

    nest: Nest
    paired: Paired | None
    box: PartsBox | None
    packed: Packed | None
    face: Face
    drop_mm: float | None
    part_kg: float
    missing: tuple[str, ...]
    box_round_mm: tuple[float, float, float] | None = None

    @property
    def count(self) -> int | None:
        """How many a box takes."""
        return None if self.packed is None else self.packed.count

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {
            "spread_deg": self.nest.spread_deg,
            "nests": self.nest.nests,
            "pitch_by_rule_mm": self.nest.rule_mm,
            "pitch_mm": self.nest.pitch_mm,
            "high_mm": self.nest.high_mm,
            "wide_mm": self.nest.wide_mm,
            "pair_high_mm": None if self.paired is None else self.paired.high_mm,
            "pair_shift_mm": None if self.paired is None else self.paired.shift_mm,
            "box": None if self.box is None else self.box.name,
            "packed": None if self.packed is None else self.packed.as_json(),
            "face_up": "marked" if self.face == "up" else "other",
            "drop_mm": self.drop_mm,
            "part_kg": self.part_kg,
            "box_round_mm": None if self.box_round_mm is None else list(self.box_round_mm),
            "missing": list(self.missing),
        }


@dataclass(frozen=True)
class CellLayout:
    """What is reckoned for the layout: distances, what was stated, questions by code, the time lost to people.

    `part_reach_mm`: the part's farthest corner from the jaw; `arm_reach_mm` from the arm's flange, None where the shop
    does not say how far the jaw is from it. `has_cell`: whether anything of a cell was entered at all.
    """

    has_cell: bool
    distances: tuple[Distance, ...]
    stated: Inputs
    questions: tuple[str, ...]
    lost: Lost
    part_reach_mm: float
    arm_reach_mm: float | None

    @property
    def entered(self) -> Inputs:
        """All inputs of the distances, each once."""
        return tuple(dict(pair for each in self.distances for pair in each.inputs).items())

    @property
    def missing(self) -> tuple[str, ...]:
        """All that was not entered, each once."""
        names = [name for each in self.distances for name in each.missing]
        names += [key for key, value in self.stated if value is None]
        return tuple(dict.fromkeys((*names, *self.lost.missing)))

    def as_json(self) -> dict[str, Any]:
        """The same with its keys."""
        return {
            "distances": [each.as_json() for each in self.distances],
            "stated": dict(self.stated),
            "questions": list(self.questions),
            "lost": self.lost.as_json(),
            "part_reach_mm": self.part_reach_mm,
            "arm_reach_mm": self.arm_reach_mm,
            "missing": list(self.missing),
        }


@dataclass(frozen=True)
class CellPlan:
    """The run of a part. `layout` is None where a person tends the machine; `hits` and `stack` then stand for nothing.

    `compared`: hand against robot over the batch, None where only one of them was planned. `minutes_alone`: how long
    the run goes without a person, the lesser of refill and full box. `kept`: without what
    the gripper keeps its hold.
    """

    part: str
    revision: str
    machine: str
    programs: Programs
    hits: tuple[RunHit, ...]
    stack: Stack
    out: Out
    layout: CellLayout | None
    time: RunTime
    compared: Compared | None
    lifts: tuple[Lift, ...]
    alone_min: float | None
    kept: tuple[Supply, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def by_hand(self) -> str:
        """The steps that no grip of the robot holds, by number; empty where it runs them all."""
        return ", ".join(str(hit.step) for hit in self.hits if hit.hold == "by-hand")

    @property
    def label(self) -> Mapping[str, Any]:
        """What stands on the label of a full box; the lot is written by hand."""
        packed = self.out.packed
        return {
            "part": self.part,
            "revision": self.revision,
            "count": None if packed is None else packed.count,
            "gross_kg": None if packed is None else packed.gross_kg,
        }

    def as_json(self) -> dict[str, Any]:
        """The whole run with its keys, units at their ends."""
        return {
            "programs": {"brake": self.programs.brake or None, "robot": self.programs.robot or None},
            "start_opening_mm": self.hits[0].open_height_mm if self.hits else None,
            "run_table": list(table_rows(self.hits, self.kept)),
            "infeed": self.stack.as_json(),
            "out": self.out.as_json(),
            "label": dict(self.label),
            "alone_min": self.alone_min,
            "layout": None if self.layout is None else self.layout.as_json(),
            "time": self.time.as_json(),
            "hand_or_robot": None if self.compared is None else self.compared.as_json(),
            "lifts": [each.as_json() for each in self.lifts],
        }
