"""What one more on a stop does to the legs, against a strip folded with X one more: every gauging there is."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.jobs import Job, work_out
from flangewise.jobs.printed import printed
from flangewise.jobs.problem import chain_of
from flangewise.part import read_parts
from flangewise.sequence import (
    Backgauge,
    Hit,
    Operation,
    SectionProblem,
    Step,
    ToolOption,
    effects_of,
    gauged_by_operation,
    solve,
    stop_changes,
)
from flangewise.sheet import Wording
from flangewise.sheet.step_words import correction_cell
from flangewise.shop import load_shop

from ..how_many import one_in
from .bent_by_stops import Push, Strip, grown_mm, legs_mm, lines_mm

ROOT = Path(__file__).parents[2]
FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
REACH = Backgauge(8.0, 400.0, -90.0, 200.0, FINGER)
SAME_MM = 1e-6

MORE = {
    "inside-sized": "legs: [22, 50, 30]\n  sizes: inside\n  bends: [90, -90]",
    "inside hem": "legs: [14, 90, 25]\n  sizes: inside\n  bends: [{hem: open, gap: 2}, 90]",
    "offset between": "legs: [40, 60, 45]\n  bends: [{offset: 4}, 90]",
    "offset behind a bend": "legs: [30, 45, 70, 25]\n  bends: [90, {offset: 4, away: true}, -90]",
    "shallow": "legs: [40, 60, 35]\n  bends: [{turn: 30}, {turn: 45, away: true}]",
    "two hems": "legs: [14, 120, 14]\n  bends: [{hem: closed}, {hem: closed}]",
}


def stack() -> ToolStack:
    """A narrow punch over V 12, enough to make most plans."""
    punch = ((0, 0), (6, 7), (6, 90), (-6, 90), (-6, 7))
    ram = ((40, 90), (40, 900), (-40, 900), (-40, 90))
    die = ((-14, 0), (-6, 0), (0, -7), (6, 0), (14, 0), (14, -70), (-14, -70))
    bed = ((50, -70), (50, -900), (-50, -900), (-50, -70))
    bodies = (Body("punch", punch, True), Body("ram", ram, True), Body("die", die, False), Body("bed", bed, False))
    return ToolStack("tools", "punch", "die", 12.0, 0.0, bodies)


def problem(seed: int) -> SectionProblem:
    """A random section of one to five bends, its datums wished for at random so that every kind comes up."""
    dice = random.Random(seed)
    count = dice.randint(1, 5)
    turns = tuple(dice.choice([90.0, -90.0, 60.0, -45.0, 90.0, 75.0, -75.0, 20.0]) for _ in range(count))
    flats = tuple(dice.choice([9, 14, 25, 40, 60, 80]) + dice.random() for _ in range(count + 1))
    zones = tuple((2.0 + 0.42 * 1.5) * math.radians(abs(turn)) for turn in turns)
    wish = dice.choice([(), ("flange",), ("start",), ("end",)])
    operations = tuple(
        Operation(str(zone + 1), (zone,), (ToolOption((Hit(stack(), abs(turn) + 2.0, 2.0),)),))
        for zone, turn in enumerate(turns)
    )
    chain = Chain(flats, zones, turns, (2.0,) * count, 1.5)
    return SectionProblem(chain, operations, gauge=REACH, preferred=(wish,) * count)


def strip_of(chain: Chain, groups: Sequence[tuple[int, ...]]) -> Strip:
    """The section as the second way takes it."""
    return Strip(chain.developed_mm, chain.zones_mm, chain.turns_deg, chain.radii_mm, chain.thickness_mm, tuple(groups))


def pushes(steps: Sequence[Step], face_mm: float) -> list[Push]:
    """The steps of a plan as the second way takes them."""
    found = []
    for step in steps:
        assert step.gauged is not None
        at = step.gauged
        found.append(Push(step.operation, step.behind, step.marked_up, at.x_mm, at.r_mm, face_mm))
    return found


def kind(problem: SectionProblem, step: Step) -> str:
    """What a step is gauged on, in the words of this file."""
    at = gauged_by_operation(problem, [step])[0]
    if step.gauged is not None and step.gauged.on_its_edge:
        return "the edge of a leaning flange"
    if not at.past_share:
        return at.on
    return f"{at.on} past {'a slope' if any(0.01 < share < 0.99 for _, share in at.past_share) else 'a step'}"


def check(problem: SectionProblem, steps: Sequence[Step], face_mm: float) -> None:
    """Every step of a plan: the rates told against the fold with that X one more."""
    chain = problem.chain
    strip = strip_of(chain, [operation.zones for operation in problem.operations])
    planned = [chain.line_mm(zone) for zone in range(chain.bends)]
    hits = pushes(steps, face_mm)
    assert lines_mm(strip, planned, hits) == pytest.approx(planned, abs=0.02)
    effects = effects_of(problem, steps)
    for number, step in enumerate(steps):
        effect = effects[step.operation]
        assert effect.legs_per_mm == pytest.approx(grown_mm(strip, planned, hits, number), abs=SAME_MM)
        assert sum(effect.legs_per_mm) == pytest.approx(0.0, abs=1e-6)
        made = [each.operation for each in steps[: number + 1]]
        beside = {bend for bend in (effect.leg - 1, effect.leg) if 0 <= bend < len(steps)}
        assert (beside <= set(made)) == (effect.complete_with == step.operation)


def check_changes(problem: SectionProblem, steps: Sequence[Step], dice: random.Random) -> None:
    """Stops that stand off by what nobody knows, the part folded and measured: the changes told put it right."""
    chain = problem.chain
    strip = strip_of(chain, [operation.zones for operation in problem.operations])
    planned = [chain.line_mm(zone) for zone in range(chain.bends)]
    wanted = legs_mm(strip, planned)
    hits = pushes(steps, 12.0)
    offs = [dice.uniform(-0.3, 0.3) for _ in hits]
    gauged, order = gauged_by_operation(problem, steps), [step.operation for step in steps]

    def errors(offs: Sequence[float]) -> list[float]:
        made = [replace(hit, x_mm=hit.x_mm + off) for hit, off in zip(hits, offs, strict=True)]
        return [leg - right for leg, right in zip(legs_mm(strip, lines_mm(strip, planned, made)), wanted, strict=True)]

    found = errors(offs)
    whole = stop_changes(gauged, order, found)
    assert [whole[bend] for bend in order] == pytest.approx([-off for off in offs], abs=SAME_MM)
    hidden = dice.randrange(len(found))
    part = stop_changes(gauged, order, [None if leg == hidden else error for leg, error in enumerate(found)])
    after = errors([off + (part[bend] or 0.0) for off, bend in zip(offs, order, strict=True)])
    for effect in effects_of(problem, steps):
        if part[effect.bend] is not None and None not in part:
            assert after[effect.leg] == pytest.approx(0.0, abs=SAME_MM)


def test_the_legs_grow_as_told_on_every_kind_of_gauging() -> None:
    seen: set[str] = set()
    for seed in range(0, 80, one_in(4)):
        asked = problem(seed)
        found = solve(asked)
        if found.feasible:
            check(asked, found.steps, 12.0)
            check_changes(asked, found.steps, random.Random(seed))
            seen |= {kind(asked, step) for step in found.steps}
    assert seen >= {"start", "end", "flange", "start past a slope", "end past a slope", "the edge of a leaning flange"}


def made(text: str, folder: Path) -> Job:
    """A part of soft sheet with the section in a text."""
    file = folder / "part.yaml"
    file.write_text(f"part: p\nmaterial: DC04\nthickness: 1\nsection:\n  length: 150\n  {text}\n")
    shop = load_shop()
    (read,) = read_parts([str(file)], shop)
    assert read.part is not None, read.faults
    return work_out(read.part, shop)


def check_job(job: Job) -> None:
    """The corrections of a job: signs and sizes by the fold, on the sheet and in the record."""
    assert job.ordered is not None and job.setup is not None and job.pattern is not None
    steps = job.ordered.solution.steps
    gauge = job.ordered.problem.gauge
    assert gauge is not None and chain_of(job.pattern) == job.ordered.problem.chain
    face_mm = max(up for across, up in gauge.finger_mm if abs(across) < 1e-6)
    check(job.ordered.problem, steps, face_mm)
    strip = strip_of(job.ordered.problem.chain, [each.zones for each in job.ordered.problem.operations])
    planned = [job.ordered.problem.chain.line_mm(zone) for zone in range(job.ordered.problem.chain.bends)]
    hits = pushes(steps, face_mm)
    numbers = [int(step.label) for step in steps]
    for step in job.setup.steps:
        found = step.correction
        if step.hit == "flatten":
            assert found is None
            continue
        assert found is not None
        grown = grown_mm(strip, planned, hits, numbers.index(step.bends[0]))
        # A leg that is one too long, put right by the X told, comes out one shorter.
        assert grown[found.leg - 1] * found.x_per_mm == pytest.approx(-1.0, abs=1e-5)
        assert found.legs_per_mm == pytest.approx(grown, abs=SAME_MM)
        assert found.nominal_mm == job.part.section.legs_mm[found.leg - 1]
        assert step.as_json()["correction"]["x_per_mm"] == found.x_per_mm
    legs = [step.correction.leg for step in job.setup.steps if step.correction is not None]
    assert len(set(legs)) == len(legs)


@pytest.mark.parametrize("name", sorted(file.stem for file in (ROOT / "examples" / "parts").glob("*.yaml")))
def test_the_signs_on_the_sheet_of_an_example_are_those_of_the_fold(name: str) -> None:
    shop = load_shop()
    (read,) = read_parts([str(ROOT / "examples" / "parts" / f"{name}.yaml")], shop)
    assert read.part is not None
    job = work_out(read.part, shop)
    check_job(job)
    sheet = printed(job)
    for step in sheet.setup.steps:
        if step.correction is not None:
            sign = "+" if step.correction.x_per_mm > 0 else "−"
            assert f"X {sign} ({step.step})" in correction_cell(sheet, step.correction.leg, Wording(sheet.machine))


@pytest.mark.parametrize("name", sorted(MORE))
def test_inside_sizes_hems_offsets_and_slopes_are_corrected_as_they_fold(name: str, tmp_path: Path) -> None:
    check_job(made(MORE[name], tmp_path))
