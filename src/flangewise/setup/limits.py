"""The limits of a set-up: loads against what carries them, each leg's gauging error against what it is allowed."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal, Protocol

from flangewise.findings import Finding, caution, note, place, refuse
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.punch_die import NEAR_SHARE, Station, concentrated_kn_per_m, off_centre_force_kn
from flangewise.records import dataclass, replace
from flangewise.sequence import (
    PlanPrice,
    SectionProblem,
    Solution,
    StopEffect,
    Tolerances,
    effects_of,
    errors_of,
    solve_within,
)
from flangewise.setup.step import Correction, Setup, SetupStep
from flangewise.setup.work import PlannedHit, Work, leg_tolerances_mm
from flangewise.shop import Machine
from flangewise.words import Phrase, phrase

# Limits, taken as twice the standard deviation where a table gives one; deduction and angle are judgements.
LIMIT_SDS = 2.0
HALF_DEDUCTION_MM = 0.05
ANGLE_DEG = 0.5


@dataclass(frozen=True)
class Load:
    """One limit: what carries it, the load and what it may be, and the step that loads it most."""

    body: Phrase
    load: float
    most: float
    unit: Literal["kn", "kn_per_m"]
    step: int

    @property
    def share(self) -> float:
        """Load over limit: 1 is all of it."""
        return self.load / self.most

    @property
    def is_near(self) -> bool:
        """Whether it is so close to its limit that the user is told."""
        return self.share > NEAR_SHARE


def most_loaded(steps: Sequence[SetupStep], machine: Machine, *, concentrated_share: float) -> tuple[Load, ...]:
    """Each body once, at its most loaded step; a hit of which the force is not known loads nothing here."""
    most: dict[str, Load] = {}
    for step in steps:
        for code, load in _of_step(step, machine, concentrated_share):
            if code not in most or load.share > most[code].share:
                most[code] = load
    return tuple(most.values())


def _of_step(step: SetupStep, machine: Machine, concentrated_share: float) -> Iterator[tuple[str, Load]]:
    per_m, pair = step.pair.limit_force_kn_per_m, step.pair
    if per_m is None or step.force_kn is None or pair.tools.punch is None or pair.tools.die is None:
        return
    ratings = (
        ("punch", pair.tools.punch.name, pair.tools.punch.load_kn_per_m),
        ("die", pair.tools.die.name, pair.tools.die.load_kn_per_m),
        ("holder", machine.name, machine.holder_load_kn_per_m),
        ("concentrated", machine.name, concentrated_kn_per_m(machine, concentrated_share)),
    )
    for body, name, rating in ratings:
        told = phrase(f"sheet.limit.body.{body}", name=name)
        yield f"{body} {name}", Load(told, per_m, rating, "kn_per_m", step.step)
    off_mm = step.station.centre_mm - machine.bed_length_mm / 2
    code = "machine-off-centre" if abs(off_mm) > 1.0 else "machine"
    told = phrase(f"sheet.limit.body.{code}", name=machine.name)
    yield code, Load(told, step.force_kn, off_centre_force_kn(machine, off_mm), "kn", step.step)


def segment_findings(station: Station, hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """Refusals of tools whose segments do not reach the bend's length, or whose ears carry less than its force."""
    tools, force = hit.pair.tools, hit.pair.limit_force_kn_per_m or 0.0
    bodies = (("punch", tools.punch, station.segments), ("die", tools.die, station.die_segments))
    found = []
    for body, tool, segments in bodies:
        if tool is None:
            continue
        load = tool.ear_load_kn_per_m
        if not segments:
            found.append(refuse(f"{body}-too-short", hit.place, tool=tool.name, length_mm=work.piece.length_mm))
        elif any(segment.ear for segment in segments) and load is not None and force > load:
            found.append(refuse("over-ear-load", hit.place, tool=tool.name, force_kn_per_m=force, load_kn_per_m=load))
    return tuple(found)


@dataclass(frozen=True)
class LegError:
    """What one leg may be off by through gauging: worst case, statistically, and what is allowed."""

    leg: int
    worst_mm: float
    statistical_mm: float
    allowed_mm: float | None

    @property
    def where(self) -> Phrase:
        """The leg, as a finding names it."""
        return place("leg", self.leg)


class GaugedSize(Protocol):
    """What is known of a size that gauging may put off: a leg of a section, a size of a panel."""

    @property
    def worst_mm(self) -> float:
        """All sources at their limits."""

    @property
    def statistical_mm(self) -> float:
        """The root of their squares."""

    @property
    def allowed_mm(self) -> float | None:
        """What it may be off by; None where nothing says so."""

    @property
    def where(self) -> Phrase:
        """The size, as a finding names it."""


def tolerances_of(machine: Machine, *, cut_mm: float) -> Tolerances:
    """What stops, cut, deduction and angle may be off by, as limits; `cut_mm` is the shop's own."""
    return Tolerances(LIMIT_SDS * machine.stop_repeat_mm, cut_mm, HALF_DEDUCTION_MM, ANGLE_DEG)


def held_within(
    problem: SectionProblem,
    plain: Solution,
    part: Part,
    pattern: FlatPattern,
    tolerances: Tolerances,
    *,
    loose_leg_s: float,
    elsewhere: bool = False,
    more: PlanPrice | None = None,
) -> Solution:
    """The order with each leg priced that gauging will hardly hold within the part's own tolerance, if it has any.

    `elsewhere`: whether other blanks, or tools that are come back to, may have plans that the problem does not know of.
    `more`: what plans cost besides, which is in the plain one's cost.
    """
    limits_mm = part.tolerances.legs_mm
    if limits_mm is None:
        return plain
    by_face = [limits_mm[face.number - 1] if face.number <= len(limits_mm) else None for face in pattern.faces]
    allowed_mm = [math.inf if limit is None else limit for limit in by_face]
    return solve_within(
        problem,
        tolerances,
        allowed_mm=allowed_mm,
        loose_leg_s=loose_leg_s,
        plain=plain,
        elsewhere=elsewhere,
        more=more,
    )


def leg_errors_of(
    problem: SectionProblem, solution: Solution, part: Part, pattern: FlatPattern, tolerances: Tolerances
) -> tuple[LegError, ...]:
    """The error of every leg under the gauging of an order; the webs of offsets are no legs."""
    allowed_mm = leg_tolerances_mm(part)
    return tuple(
        LegError(face.number, error.worst_mm, error.statistical_mm, allowed_mm[face.number - 1])
        for face, error in zip(pattern.faces, errors_of(problem, solution, tolerances), strict=False)
        if face.number <= len(part.section.legs_mm)
    )


def size_findings(errors: Sequence[GaugedSize]) -> tuple[Finding, ...]:
    """A caution for a size that the gauging is not likely to hold, a note where only the worst case exceeds."""
    found = []
    for each in errors:
        if each.allowed_mm is not None and each.worst_mm > each.allowed_mm + 1e-9:
            where = each.where
            values = {"worst_mm": each.worst_mm, "likely_mm": each.statistical_mm, "allowed_mm": each.allowed_mm}
            likely = each.statistical_mm <= each.allowed_mm + 1e-9
            told = note("leg-worst-case", where, **values) if likely else caution("leg-not-held", where, **values)
            found.append(told)
    return tuple(found)


def with_corrections(setup: Setup, problem: SectionProblem, solution: Solution, part: Part) -> Setup:
    """The set-up with the correction of every hit that has one."""
    effects = effects_of(problem, solution.steps)
    last_hits = {bend: step.step for step in setup.steps for bend in step.bends}
    steps = tuple(replace(step, correction=_correction(step, effects, last_hits, part)) for step in setup.steps)
    return replace(setup, steps=steps)


def _correction(
    step: SetupStep, effects: Sequence[StopEffect], last_hits: Mapping[int, int], part: Part
) -> Correction | None:
    if step.hit == "flatten" or step.stops.x_mm is None:
        return None
    effect = effects[step.bends[0] - 1]
    return Correction(
        leg=effect.leg + 1,
        nominal_mm=part.section.legs_mm[effect.leg],
        plus_minus_mm=leg_tolerances_mm(part)[effect.leg],
        x_per_mm=-1 / effect.own_per_mm,
        legs_per_mm=effect.legs_per_mm,
        read_after=last_hits[effect.complete_with + 1],
    )
