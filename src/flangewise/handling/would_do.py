"""What would let a step be held that no grip holds: a smaller jaw, from below, putting down; else a hand."""

from collections import Counter
from collections.abc import Sequence
from typing import Literal

import numpy as np

from flangewise.geometry import Outline, Points
from flangewise.handling.gripper import GripperShape
from flangewise.handling.grips import GripTable
from flangewise.handling.held import GripPlanner, way_of
from flangewise.handling.moves import Pose, are_picked
from flangewise.handling.step_grips import AGAINST, Against
from flangewise.sequence import PricedStep
from flangewise.shop import Gripper

Help = Literal["put-down", "smaller", "from-above", "from-below", "stronger", "by-hand"]


def would_do(planner: GripPlanner, step: PricedStep, done: int) -> tuple[Help, ...]:
    """What would do at a step of a plan, tried with the gripper altered; by hand always."""
    row, found = planner.shape.row, list[Help]()
    if done and not row.regrip_station and planner.grips_at(step, done).through.any():
        # Held it could be, only not come to with what is in hand before.
        found.append("put-down")
    for name, gripper in altered(row):
        table = GripTable(planner.problem, planner.part, GripperShape(gripper), planner.table.around)
        holds = table.at(way_of(step), done).through
        # A blank comes from the stack.
        if (holds if done else holds & are_picked(table.grips, Pose(step.marked_up, step.start_behind))).any():
            found.append(name)
    return (*found, "by-hand")


def altered(row: Gripper) -> list[tuple[Help, Gripper]]:
    """A gripper altered by what would do: smaller, from above or below as well, ten times as strong."""
    tried: list[tuple[Help, Gripper]] = [("smaller", smaller(row))]
    if row.kind != "jaw" and "above" not in row.may_hold:
        tried.append(("from-above", row.model_copy(update={"may_hold": (*row.may_hold, "above")})))
    if row.kind != "jaw" and "below" not in row.may_hold:
        tried.append(("from-below", row.model_copy(update={"may_hold": (*row.may_hold, "below")})))
    if row.holding_n is not None and row.payload_kg is not None and row.payload_moment_nm is not None:
        more = {key: 10 * getattr(row, key) for key in ("holding_n", "payload_kg", "payload_moment_nm")}
        tried.append(("stronger", row.model_copy(update=more)))
    return tried


def smaller(row: Gripper) -> Gripper:
    """The same gripper with pads half as deep, its body so much shorter over the sheet."""
    half = row.pad_across_mm / 2
    own = row.outline_mm.drawn_mm()
    shrunk: Points = own.copy()
    inner = own[:, 0] <= -half + 1e-6
    shrunk[inner, 0] += half / 2
    shrunk[~inner, 0] -= half / 2
    if row.kind != "jaw":
        shrunk = own * np.array([0.5, 1.0])
    outline = Outline(tuple((float(x), float(y)) for x, y in shrunk), (0.0,) * len(shrunk))
    return row.model_copy(update={"pad_across_mm": half, "outline_mm": outline})


def blocked_by(against: Sequence[Against | None], comes: Against) -> tuple[tuple[Against, int], ...]:
    """How many grips fail for what, those that come furthest first; of those that hold, that none is come to."""
    found = Counter(comes if each is None else each for each in against)
    return tuple(sorted(found.items(), key=lambda each: -AGAINST.index(each[0])))
