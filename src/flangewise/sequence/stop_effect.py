"""What one more on a stop does to the legs: which leg comes out with it, which way, and what else shifts.

The lines of later bends move along where their stops feel the part beyond the bend that moved; leg by leg it follows
from the datum tree.
"""

import math
from collections.abc import Sequence

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.datum import Gauged, leg_terms, legs_measured
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.solution import Gauging, Step

NOTHING = 1e-9
# A leg that follows a stop by less than this share is corrected badly by it.
WELL = 0.5


@dataclass(frozen=True)
class StopEffect:
    """What the stop of one bend does. Bends and legs count from 0 along the section, offsets as one bend.

    `leg` is the leg that comes out with this stop, complete once `complete_with` is bent; `legs_per_mm` what every leg
    grows by for one more on X, the stops of all other bends left as they are.
    """

    bend: int
    leg: int
    complete_with: int
    legs_per_mm: tuple[float, ...]

    @property
    def own_per_mm(self) -> float:
        """What its own leg grows by for one more on X: 1 or -1 but for gauging past bends that are not square."""
        return self.legs_per_mm[self.leg]


def stop_effects(gauged: Sequence[Gauged], order: Sequence[int]) -> tuple[StopEffect, ...]:
    """The effect of every bend's stop, by bend; `order` is the order in which they are bent.

    A leg is complete when the bends at its ends are made. The leg that comes out with a stop is the one its hit
    completes: the one on the side of the stop, else the one in front. Where it completes neither, it is the leg that
    the stop moves well and no other hit completes, nearest first.
    Raises ValueError when the gaugings go round in a circle.
    """
    at = {bend: place for place, bend in enumerate(order)}
    terms = leg_terms(gauged)
    legs_per_mm = [tuple(round(leg.get(("stop", bend), 0.0), 9) for leg in terms) for bend in range(len(gauged))]
    complete = [max(range(max(leg - 1, 0), min(leg + 1, len(gauged))), key=at.__getitem__) for leg in range(len(terms))]
    # Of two legs that one hit completes, the one on the side of the stop comes last and stands.
    completed = ((bend, leg) for bend in order for leg in _beside(bend, gauged[bend])[::-1] if complete[leg] == bend)
    own = dict(completed)
    for bend in order:
        if bend not in own:
            own[bend] = _left_over(bend, gauged[bend], legs_per_mm[bend], taken=set(own.values()))
    return tuple(StopEffect(bend, own[bend], complete[own[bend]], legs_per_mm[bend]) for bend in range(len(gauged)))


def _beside(bend: int, at: Gauged) -> tuple[int, int]:
    """The leg on the side of the stop, and the one in front."""
    return (bend, bend + 1) if at.toward_start(bend) else (bend + 1, bend)


def _left_over(bend: int, at: Gauged, legs_per_mm: Sequence[float], *, taken: set[int]) -> int:
    behind, front = _beside(bend, at)
    moved = [leg for leg, rate in enumerate(legs_per_mm) if abs(rate) > NOTHING]
    well = [leg for leg in moved if abs(legs_per_mm[leg]) >= WELL] or moved
    return min(
        well, key=lambda leg: (leg in taken, -abs(legs_per_mm[leg]), leg != behind, leg != front, abs(leg - bend))
    )


def stop_changes(
    gauged: Sequence[Gauged], order: Sequence[int], errors_mm: Sequence[float | None]
) -> tuple[float | None, ...]:
    """What to add to every stop for how much too long the legs came out; None for a leg that was not measured.

    A stop whose legs were all measured is set by their sum. Another is set so that the leg that comes out with it is
    right on the blank as it is, with what the other stops change; None where that leg was not measured either.
    """
    effects = {effect.bend: effect for effect in stop_effects(gauged, order)}
    known = {bend: change for bend in order if (change := _by_sum(gauged, bend, errors_mm)) is not None}
    by_leg = {effects[bend].leg: bend for bend in order if bend not in known}
    open_legs = [(leg, bend, error) for leg, bend in by_leg.items() if (error := errors_mm[leg]) is not None]
    rows = [[effects[bend].legs_per_mm[leg] for _, bend, _ in open_legs] for leg, _, _ in open_legs]
    rest = [e + sum(effects[bend].legs_per_mm[leg] * known[bend] for bend in known) for leg, _, e in open_legs]
    solved = changes_against(rows, rest)
    known |= {bend: change for (_, bend, _), change in zip(open_legs, solved, strict=True)}
    return tuple(known.get(bend) for bend in range(len(gauged)))


def changes_against(per_mm: Sequence[Sequence[float]], errors_mm: Sequence[float]) -> list[float]:
    """What to add to each stop so that sizes lose their errors; a row of `per_mm` is what a size grows by for each."""
    if not per_mm:
        return []
    changes: list[float] = np.linalg.lstsq(np.array(per_mm), -np.array(errors_mm), rcond=None)[0].tolist()
    return changes


def _by_sum(gauged: Sequence[Gauged], bend: int, errors_mm: Sequence[float | None]) -> float | None:
    total = 0.0
    for leg, share in legs_measured(gauged, bend).items():
        if abs(share) > NOTHING:
            error = errors_mm[leg]
            if error is None:
                return None
            total -= share * error
    return total


def on_flange(problem: SectionProblem, at: Gauging, zone: int, *, number: int) -> Gauged:
    """Gauged on the formed face at a zone, its bend told by its number; a fold beyond square counts as square."""
    return Gauged("flange", number, abs(at.height_mm), min(abs(problem.chain.turns_deg[zone]), 90.0))


def gauged_by_operation(problem: SectionProblem, steps: Sequence[Step]) -> tuple[Gauged, ...]:
    """What every operation was gauged on in a plan, in the order of the section; ungauged counts as on its edge."""
    found = {step.operation: _gauged(problem, step) for step in steps}
    return tuple(found[operation] for operation in sorted(found))


def _gauged(problem: SectionProblem, step: Step) -> Gauged:
    at = step.gauged
    if at is not None and at.on == "flange" and at.zone is not None and not at.on_its_edge:
        flange = next(i for i, operation in enumerate(problem.operations) if at.zone in operation.zones)
        return on_flange(problem, at, at.zone, number=flange)
    return Gauged(step.behind, past_share=_past(problem, step))


def _past(problem: SectionProblem, step: Step) -> tuple[tuple[int, float], ...]:
    """The formed bends between a bend and the edge behind it, each with the cosine of the slope beyond."""
    count, at = len(problem.operations), step.operation
    slope_deg, found = 0.0, []
    for operation in range(at + 1, count) if step.behind == "end" else range(at - 1, -1, -1):
        if step.done >> operation & 1:
            slope_deg += sum(problem.chain.turns_deg[zone] for zone in problem.operations[operation].zones)
            found.append((operation, math.cos(math.radians(slope_deg))))
    return tuple(found)


def effects_of(problem: SectionProblem, steps: Sequence[Step]) -> tuple[StopEffect, ...]:
    """The effect of every operation's stop in a plan."""
    return stop_effects(gauged_by_operation(problem, steps), [step.operation for step in steps])
