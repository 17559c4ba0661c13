"""A job on the sheet: every number is the one that was worked out, and nothing is added."""

import pytest

from flangewise.bend import linear_tolerance_mm
from flangewise.jobs.printed import printed

from .worked import ANGLE, CHANNEL, HEM, TOO_STRONG, ZED, job

TEXTS = (ANGLE, CHANNEL, ZED, HEM)


@pytest.mark.parametrize("text", TEXTS)
def test_steps_carry_the_setup_as_it_is(text: str) -> None:
    worked = job(text)
    assert worked.setup is not None
    for shown, made in zip(printed(worked).steps, worked.setup.steps, strict=True):
        assert (shown.x_mm, shown.r_mm, shown.z_mm) == (made.stops.x_mm, made.stops.r_mm, made.stops.z_mm)
        assert (shown.depth_mm, shown.bend_to_deg, shown.finished_deg) == (
            made.depth_mm,
            made.bend_to_deg,
            made.finished_deg,
        )
        assert (shown.force_kn, shown.open_height_mm, shown.crowning_mm) == (
            made.force_kn,
            made.open_height_mm,
            made.crowning_mm,
        )
        assert (shown.marked_face, shown.hit, shown.deg_per_mm) == (made.marked_face, made.hit, made.deg_per_mm)


@pytest.mark.parametrize("text", TEXTS)
def test_the_blank_is_that_of_the_plan(text: str) -> None:
    worked = job(text)
    blank = printed(worked).blank
    assert worked.pattern is not None
    assert (blank.developed_mm, blank.along_mm, blank.mass_kg) == (
        worked.pattern.developed_mm,
        worked.pattern.along_bends_mm,
        worked.pattern.mass_kg,
    )
    assert [line.line_mm for line in blank.lines] == [zone.line_mm[0][1] for zone in worked.pattern.zones]


def test_pairs_stand_once_in_the_order_of_use() -> None:
    sheet = printed(job(HEM))
    assert [step.tools for step in sheet.steps] == [0, 1, 2] or len(sheet.tools) == len({s.tools for s in sheet.steps})
    assert len({(pair.punch, pair.die, pair.punch_turned) for pair in sheet.tools}) == len(sheet.tools)


def test_shut_height_is_punch_and_die_together() -> None:
    worked = job(ANGLE)
    assert worked.setup is not None
    pair = worked.setup.steps[0].pair
    assert printed(worked).tools[0].shut_height_mm == pytest.approx(pair.shut_height_mm)


def test_loads_name_each_body_once_and_none_is_over() -> None:
    loads = printed(job(ANGLE)).loads
    bodies = [load.body.code.rsplit(".", 1)[-1] for load in loads]
    assert {"punch", "die", "holder", "concentrated"} <= set(bodies)
    assert len(bodies) == len(set(bodies))
    assert all(0 < load.share <= 1 for load in loads)


def test_measures_cover_every_bend_and_leg_with_general_tolerances() -> None:
    rows = printed(job(CHANNEL)).measures
    assert [row.unit for row in rows] == ["deg", "deg", "mm", "mm", "mm"]
    assert [row.nominal for row in rows] == [90.0, 90.0, 25.0, 60.0, 25.0]
    assert [row.allowed for row in rows[2:]] == [linear_tolerance_mm(size) for size in (25.0, 60.0, 25.0)]


def test_a_hem_is_measured_over_its_layers() -> None:
    row = printed(job(HEM)).measures[0]
    assert (row.unit, row.nominal) == ("mm", 2.0)


def test_the_finished_part_has_a_size_for_every_leg() -> None:
    finish = printed(job(CHANNEL)).finish
    assert finish.sizes_mm == (25.0, 60.0, 25.0)
    assert finish.angles_deg == (("1", 90.0), ("2", 90.0))


def test_a_part_without_a_plan_gets_no_sheet() -> None:
    worked = job(TOO_STRONG)
    if worked.feasible:
        pytest.skip("the shop's small brake can bend it")
    with pytest.raises(ValueError, match="no plan"):
        printed(worked)
