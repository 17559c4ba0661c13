"""What a hit looks like while it is made: the part and the nose of the punch at moments of the stroke."""

from __future__ import annotations

from flangewise.clearance import Outline, outline_of
from flangewise.geometry import Path
from flangewise.records import dataclass
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import END, START
from flangewise.sequence.placing import part_path, pressed_path
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import offset_slide, stroke_of
from flangewise.sequence.solution import Step


@dataclass(frozen=True)
class StrokeMoment:
    """One moment of a stroke: how high the punch nose stands over the die's top, and the outline of the part.

    `turned_deg` is how far the bend is turned by then, under load; None where nothing is swung.
    """

    nose_mm: float
    outline_mm: Outline
    turned_deg: float | None = None


def stroke_moment(problem: SectionProblem, step: Step, *, share: float, hit: int = 0) -> StrokeMoment:
    """The moment when a share of a hit's stroke is done: 0 where the punch touches, 1 at the bottom.

    Bends and offsets stand as the planner has them at that share of the stroke. Of a hem that is flattened the planner
    knows the end alone: between, its turn grows evenly from what the first hit left, and the plate lies on its leg.
    """
    way = Candidate(step.operation, step.option, step.marked_up, START if step.behind == "start" else END)
    done = step.done
    chain, operation = problem.chain, problem.operations[way.operation]
    hits = operation.options[way.option].hits
    if hits[hit].kind == "press":
        wanted_deg = abs(chain.turns_deg[operation.zones[0]])
        begun = min(hits[0].loaded_turn_deg / wanted_deg, 1.0)
        outline_mm = _outline(pressed_path(problem, way, done, share=begun + share * (1 - begun)), chain.thickness_mm)
        return StrokeMoment(max(up for _, up in outline_mm), outline_mm)
    outline_mm = _outline(part_path(problem, way, done, hit=hit, share=share), chain.thickness_mm)
    if hits[hit].kind == "offset":
        slide = offset_slide(chain, operation, hits[hit], behind=True)
        return StrokeMoment(slide.nose_start_mm + share * (slide.nose_end_mm - slide.nose_start_mm), outline_mm)
    stroke = stroke_of(chain, operation, hits[hit])
    half_deg = share * stroke.half_turn_deg
    return StrokeMoment(-float(stroke.depth_mm(half_deg)), outline_mm, 2 * half_deg)


def _outline(path: Path, thickness_mm: float) -> Outline:
    return outline_of(path.outline_mm(thickness_mm))
