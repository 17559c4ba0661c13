"""The whole part in the machine at any moment of a hit, as one path from the end behind to the end in front."""

import math

import numpy as np

from flangewise.geometry import Path, done_angles, section_path, wing_path
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import START
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import leg_is_at_end, offset_slide, press_slide, stroke_of

FLAT, FULL = 0.0, 1.0
# The bend under the nose is drawn this close to its arc: a fifth of what counts as contact.
CHORD_ERROR_MM = 0.01


def done_zones(problem: SectionProblem, done: int) -> set[int]:
    """Zones of the operations in a set."""
    return {zone for index, op in enumerate(problem.operations) if done >> index & 1 for zone in op.zones}


def wing_paths(problem: SectionProblem, way: Candidate, done: int) -> tuple[Path, Path]:
    """The wings in front and behind, each in its own frame, before the hit."""
    chain, operation = problem.chain, problem.operations[way.operation]
    angles = done_angles(chain, done_zones(problem, done))

    def wing(toward_end: bool) -> Path:
        zone = operation.zones[-1] if toward_end else operation.zones[0]
        return wing_path(chain, zone, toward_end=toward_end, angles_deg=angles, marked_up=way.marked_up)

    return wing(way.behind == START), wing(way.behind != START)


def part_path(problem: SectionProblem, way: Candidate, done: int, *, hit: int = 0, share: float = FLAT) -> Path:
    """The part in machine coordinates when `share` of the hit's stroke is done (0 flat, 1 at its bottom)."""
    swings = problem.operations[way.operation].options[way.option].hits[hit].kind == "swing"
    return (_swinging if swings else _pressed)(problem, way, done, hit=hit, share=share)


def _swinging(problem: SectionProblem, way: Candidate, done: int, *, hit: int, share: float) -> Path:
    operation = problem.operations[way.operation]
    stroke = stroke_of(problem.chain, operation, operation.options[way.option].hits[hit])
    half = share * stroke.half_turn_deg
    edge = stroke.edge_mm(half)
    front, behind = wing_paths(problem, way, done)
    middle = stroke.radius_mm + stroke.thickness_mm / 2
    chord = 2 * math.acos(1 - CHORD_ERROR_MM / middle) if middle > CHORD_ERROR_MM else math.inf
    steps = max(2, math.ceil(2 * math.radians(half) / chord))
    slopes = np.radians(np.linspace(-half, half, steps + 1))
    centre = np.array([0.0, stroke.centre_mm(half)])
    arc = Path(
        centre + middle * np.column_stack([np.sin(slopes), -np.cos(slopes)]),
        np.column_stack([-np.sin(slopes), np.cos(slopes)]),
        np.full(len(slopes), 2 * operation.zones[0] + 1),
    )
    laid = front.placed(rotate_deg=half, to_mm=edge)
    return behind.placed(rotate_deg=half, to_mm=edge, mirror=True).backward().then(arc).then(laid)


def _pressed(problem: SectionProblem, way: Candidate, done: int, *, hit: int, share: float) -> Path:
    """An offset part of the way to its lands, or a hem, flattened all along."""
    chain, operation = problem.chain, problem.operations[way.operation]
    struck, start_behind = operation.options[way.option].hits[hit], way.behind == START
    is_offset, own = struck.kind == "offset", set(operation.zones)
    angles = done_angles(chain, done_zones(problem, done) - own)
    made = share if is_offset else FULL
    angles = tuple(made * chain.turns_deg[z] if z in own else angle for z, angle in enumerate(angles))
    path = section_path(chain, angles).seen(marked_up=way.marked_up, start_behind=start_behind)
    if is_offset:
        slide = offset_slide(chain, operation, struck, behind=True)
        across, up = (a + share * (b - a) for a, b in zip(slide.edge_start_mm, slide.edge_end_mm, strict=True))
        face = operation.zones[0] if start_behind else operation.zones[-1] + 1
        return path.levelled(2 * face, by_last=True, to_mm=(-across, up))
    at_end = leg_is_at_end(chain, operation)
    body = operation.zones[0] if at_end else operation.zones[0] + 1
    front = start_behind != at_end
    across, up = press_slide(chain, operation, is_leg=False).edge_start_mm
    return path.levelled(2 * body, by_last=not front, to_mm=(across if front else -across, up))
