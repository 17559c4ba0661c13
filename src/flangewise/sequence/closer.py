"""The closer look at the steps of a plan: what is too dear to ask of every set of operations."""

from __future__ import annotations

from flangewise.clearance import Meeting, pieces_meet, wings_meet
from flangewise.geometry import Path
from flangewise.sequence.placing import FULL, part_path, wing_paths
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import stroke_of
from flangewise.sequence.search import Search
from flangewise.sequence.state import Forbidden, Way
from flangewise.sequence.trace import Choice


def closer_look(search: Search, plan: tuple[Choice, ...]) -> tuple[Forbidden, ...]:
    """Everything in a plan that does not stand up to a closer look; empty if the plan holds."""
    problem = search.gates.problem
    failed: list[Forbidden] = []
    for choice in plan:
        if problem.check_self:
            failed.extend(self_meeting(problem, choice.way, choice.done))
    return tuple(failed)


def self_meeting(problem: SectionProblem, way: Way, done: int) -> tuple[Forbidden, ...]:
    """Whether the part meets itself while an operation is made, said as generally as it is true.

    It depends only on the operations between the two pieces that meet.
    """
    meeting = meeting_of(problem, way, done)
    if meeting is None:
        return ()
    mask = between_mask(problem, meeting.front_span, meeting.behind_span) & ~(1 << way.operation)
    return (Forbidden(way.operation, mask, done & mask),)


def meeting_of(problem: SectionProblem, way: Way, done: int) -> Meeting | None:
    """The worst meeting of the part with itself in an operation."""
    operation = problem.operations[way.operation]
    for number, hit in enumerate(operation.options[way.option].hits):
        if hit.kind == "swing":
            front, behind = wing_paths(problem, way, done)
            found = wings_meet(front, behind, stroke_of(problem, operation, hit))
        else:
            path = part_path(problem, way, done, hit=number, share=FULL)
            found = resting_meeting(problem, way, path)
        if found is not None:
            return found
    return None


def resting_meeting(problem: SectionProblem, way: Way, path: Path) -> Meeting | None:
    """Meeting of the two wings at the end of a pressed hit."""
    zones = {2 * zone + 1 for zone in problem.operations[way.operation].zones}
    rows = [row for row, span in enumerate(path.spans) if int(span) in zones]
    cut = slice(0, rows[0]), slice(rows[-1] + 1, None)
    behind = Path(*(part[cut[0]][::-1] for part in (path.points_mm, path.normals, path.spans)))
    front = Path(*(part[cut[1]] for part in (path.points_mm, path.normals, path.spans)))
    return pieces_meet(front, behind, thickness_mm=problem.chain.thickness_mm)


def between_mask(problem: SectionProblem, one_span: int, other_span: int) -> int:
    """Bits of the operations with a zone at or between two pieces of the section."""
    low, high = min(one_span, other_span), max(one_span, other_span)
    mask = 0
    for index, operation in enumerate(problem.operations):
        if any(low <= 2 * zone + 1 <= high for zone in operation.zones):
            mask |= 1 << index
    return mask
