"""Finger and clearance of a plan, as the planner tells them and as the replay has them moment by moment.

The replay folds the part itself, by its own formulas, and stands it between bodies it draws itself. Both must tell the
same room to a tenth of a millimetre: the least distance of what is not meant to touch, and that the stops, gone back as
far as the plan says, are touched by nothing at sixty moments of the stroke.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_record
from flangewise.jobs import Job, replayed, section_numbers, worked_out
from flangewise.part import read_part
from flangewise.replay import PlanStep, bodies_of, read_steps
from flangewise.replay.bodies import Corners, drawn
from flangewise.replay.fold import Rings
from flangewise.replay.meets import overlap_mm
from flangewise.replay.stroke import Moments, ReplayHit, hit_of
from flangewise.replay.walk import turns_after
from flangewise.shop import Shop, load_shop

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = sorted((ROOT / "examples" / "parts").glob("*.yaml"))
CORPUS = [ROOT / "tests" / "parts" / name / "part.yaml" for name in ("channel", "hat", "lipped-channel", "zed")]
TOY = ROOT / "tests" / "rooms" / "shop" / "toy_shop"
SAME_MM, MOMENTS = 0.1, 60


@cache
def shop(folder: Path | None) -> Shop:
    return load_shop(folder)


@cache
def planned(file: Path) -> Job:
    own = shop(TOY if file in CORPUS else None)
    return worked_out(read_part(file.read_text(encoding="utf-8"), file.name, own), own)


def stepped(job: Job) -> Iterator[tuple[PlanStep, ReplayHit, float | None]]:
    """Each step of the published plan as the replay has it, with the clearance told."""
    assert job.pattern is not None
    record = json.loads(json_line(plan_record(job)))
    section, bodies = section_numbers(job.part, job.pattern), bodies_of(job.shop, job.machine)
    turns = (0.0,) * len(section.zones_mm)
    for step, told in zip(read_steps(record, "plan"), record["steps"], strict=True):
        bend = section.bend(step.bends[0])
        stack = bodies.stack(step.punch, step.die, turned=step.punch_turned)
        yield step, hit_of(section, turns, step, bend=bend, stack=stack), told["clearance_mm"]
        turns = turns_after(section, turns, step, bend=bend)


def at_sixty(moments: Moments) -> Moments:
    chosen = np.linspace(0, len(moments.turns_deg) - 1, MOMENTS).round().astype(int)
    points = Rings(moments.rings.points_mm[chosen], moments.rings.labels)
    return Moments(points, moments.turns_deg[chosen], moments.nose_up_mm[chosen])


def finger_mm(job: Job, step: PlanStep) -> Corners:
    assert step.stop_mm is not None
    behind_mm, up_mm = step.stop_mm[0] + (step.number("retract_mm") or 0.0), step.stop_mm[1]
    finger = bodies_of(job.shop, job.machine).finger
    assert finger is not None
    return tuple((across - behind_mm, up + up_mm) for across, up in drawn(finger))


def room_mm(hit: ReplayHit) -> float:
    """The least distance through the stroke of what counts: what lies beyond a bent zone, and straight runs of the ram.

    Flats and zones are counted from the back; a zone stands half a step after its flat.
    """
    moments, turns, least = hit.moments(), hit.view.turns_deg, math.inf
    places = np.array([label if label >= 0 else -0.5 - label for label in moments.rings.labels])
    last, first = hit.zones[0], hit.zones[-1] + 1
    bent = [zone for zone, turn in enumerate(turns) if turn and zone not in hit.zones]
    back = max((zone for zone in bent if zone < last), default=-1) + 1
    front = min((zone for zone in bent if zone >= first), default=len(turns))
    pieces = [
        (places < back, ("punch", "ram", "die", "bed")),
        ((places >= back) & (places <= last), ("ram",)),
        ((places >= first) & (places <= front), ("ram",)),
        (places > front, ("punch", "ram", "die", "bed")),
    ]
    for rows, names in pieces:
        for solid in (each for each in hit.stack.solids if each.name in names and rows.sum() > 2):
            seen = moments.rings.points_mm[:, rows].copy()
            seen[:, :, 1] -= moments.nose_up_mm[:, None] if solid.with_ram else 0.0
            apart = shapely.distance(shapely.polygons(seen), shapely.Polygon(solid.points_mm))
            least = min(least, float(apart.min()))
    return least


@pytest.mark.parametrize("file", [*EXAMPLES, *CORPUS], ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_planner_and_replay_tell_the_same_room(file: Path) -> None:
    job = planned(file)
    assert job.feasible
    steps = list(stepped(job))
    assert steps
    for step, hit, told_mm in steps:
        # A hem's two hits tell the less of both.
        own = [room_mm(each) for _, each, _ in steps if each.bend.number == hit.bend.number]
        if hit.kind == "air-bend" and len(own) == 1:
            assert told_mm == pytest.approx(own[0], abs=SAME_MM), f"step {step.step}"
        else:
            # What is pressed is told by the middle surface less half the sheet, which is never more.
            assert told_mm is None or told_mm <= min(own) + SAME_MM, f"step {step.step}"


@pytest.mark.parametrize("file", [*EXAMPLES, *CORPUS], ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_nothing_touches_the_stops_at_sixty_moments(file: Path) -> None:
    job = planned(file)
    gauged = [(step, hit) for step, hit, _ in stepped(job) if step.stop_mm is not None]
    assert gauged
    for step, hit in gauged:
        finger = shapely.Polygon(finger_mm(job, step))
        worst = max(overlap_mm(ring, finger) for ring in at_sixty(hit.moments()).rings.points_mm)
        assert worst < SAME_MM, f"step {step.step} is pushed into by {worst:.3f}"


@pytest.mark.parametrize("file", [*EXAMPLES, *CORPUS], ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_the_replay_finds_nothing(file: Path) -> None:
    job = planned(file)
    found = replayed(job.part, job.shop, json.loads(json_line(plan_record(job))))
    assert [each for each in found if each.severity != "note"] == []
