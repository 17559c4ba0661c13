"""Legs found in the machine: held against the outline they belong to, and against each other."""

import itertools
import math
from dataclasses import replace

import pytest
import shapely

from flangewise.jobs.finished import finished_profile
from flangewise.jobs.printed import on_die, on_plate, printed

from .worked import ANGLE, CHANNEL, HEM, ZED, job

TEXTS = (ANGLE, CHANNEL, ZED)


@pytest.mark.parametrize("text", TEXTS)
def test_every_leg_lies_in_the_middle_of_the_sheet_before_a_hit(text: str) -> None:
    worked = job(text)
    assert worked.setup is not None and worked.pattern is not None
    for step in printed(worked).steps:
        sheet = shapely.Polygon(step.before.outline_mm)
        for flat in step.before.flats:
            middle = shapely.LineString([flat.start_mm, flat.end_mm])
            assert sheet.buffer(1e-6).covers(middle)
            assert sheet.exterior.distance(middle.interpolate(0.5, normalized=True)) == pytest.approx(1.0, abs=1e-6)
            assert middle.length == pytest.approx(flat.face.to_mm - flat.face.from_mm)


@pytest.mark.parametrize("text", TEXTS)
def test_the_line_to_bend_lies_over_the_die(text: str) -> None:
    worked = job(text)
    assert worked.setup is not None and worked.pattern is not None
    labels = [zone.label for zone in worked.pattern.zones]
    for step in printed(worked).steps:
        zone = labels.index(step.labels[0])
        flats = step.before.flats
        assert flats[zone].end_mm[0] + flats[zone + 1].start_mm[0] == pytest.approx(0.0, abs=1e-6)
        assert flats[zone].end_mm[1] == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("text", TEXTS)
def test_the_start_edge_looks_where_it_is_said_to(text: str) -> None:
    worked = job(text)
    assert worked.setup is not None
    for step in printed(worked).steps:
        flats = step.before.flats
        zone = int(step.labels[0]) - 1
        toward_operator = flats[zone].start_mm[0] > flats[zone].end_mm[0]
        assert toward_operator is (step.start_at == "operator")


def test_the_finished_section_has_its_turns_and_its_longest_leg_level_below() -> None:
    worked = job(CHANNEL)
    assert worked.pattern is not None
    pose = finished_profile(worked.pattern)
    base = pose.flats[1]
    assert base.start_mm[1] == pytest.approx(base.end_mm[1], abs=1e-9)
    headings = [math.atan2(f.end_mm[1] - f.start_mm[1], f.end_mm[0] - f.start_mm[0]) for f in pose.flats]
    turns = [
        math.degrees((after - before + math.pi) % (2 * math.pi) - math.pi)
        for before, after in itertools.pairwise(headings)
    ]
    assert [abs(turn) for turn in turns] == pytest.approx([90.0, 90.0])
    assert min(up for _, up in pose.outline_mm) == pytest.approx(-1.0, abs=1e-6)
    assert max(up for _, up in pose.outline_mm) > 20.0


def test_the_finished_section_is_not_mirrored() -> None:
    """Marked face up, start edge to the operator, seen from the left: a bend toward the marked face of the second leg
    lies on the backgauge side, and the first leg, seen along its own run, turns to the right hand."""
    worked = job(ANGLE)
    assert worked.pattern is not None
    first, second = finished_profile(worked.pattern).flats
    one = (first.end_mm[0] - first.start_mm[0], first.end_mm[1] - first.start_mm[1])
    two = (second.end_mm[0] - second.start_mm[0], second.end_mm[1] - second.start_mm[1])
    assert one[0] * two[1] - one[1] * two[0] < 0


def test_a_hem_is_drawn_between_its_hits() -> None:
    """The hem first, so that nothing hangs below the sheet."""
    worked = job(HEM + "order: [1, 2]\n")
    assert worked.setup is not None and worked.pattern is not None
    steps = printed(worked).steps
    pre, flatten = (next(step for step in steps if step.keyed.hit == hit) for hit in ("pre-bend", "flatten"))
    area = shapely.Polygon(pre.before.outline_mm).area
    assert shapely.Polygon(pre.after_mm).buffer(0).area == pytest.approx(area, rel=0.02)
    assert min(up for _, up in flatten.before.outline_mm) == pytest.approx(0.0, abs=1e-6)
    assert max(up for _, up in flatten.before.outline_mm) > 3.0
    assert max(up for _, up in flatten.after_mm) <= 2.5


def test_a_part_bent_section_stands_alike_on_both_sides_of_the_nose() -> None:
    worked = job(HEM)
    assert worked.pattern is not None and worked.ordered is not None and worked.setup is not None
    first = next(step for step in worked.setup.steps if step.hit == "pre-bend")
    deep = replace(first, ram=replace(first.ram, depth_mm=3.0))
    outline = on_die(worked.pattern, deep, frozenset(), turn_deg=150.0).outline_mm
    assert min(up for _, up in outline) == pytest.approx(-4.0, abs=0.02)
    flat = on_plate(worked.pattern, deep, frozenset()).outline_mm
    assert min(up for _, up in flat) == pytest.approx(0.0, abs=1e-6)
