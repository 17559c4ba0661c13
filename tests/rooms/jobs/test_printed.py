"""A job on the sheet: its pairs, loads and measures."""

from dataclasses import replace

import pytest

from flangewise.bend import linear_tolerance_mm
from flangewise.jobs.printed import over_layers, printed
from flangewise.part import WantedBend
from flangewise.sheet.section_picture import drawn_sizes_mm

from .worked import ANGLE, CHANNEL, HEM, TOO_STRONG, job


def test_pairs_stand_once_in_the_order_of_use() -> None:
    sheet = printed(job(HEM))
    names = [mounting.name for mounting in sheet.mountings]
    assert len(names) == len(set(names)) >= 2
    assert names == list(dict.fromkeys(step.mounting.name for step in sheet.steps))
    assert all(sheet.stations_of(mounting) for mounting in sheet.mountings)


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
    sheet = printed(job(CHANNEL))
    assert drawn_sizes_mm(sheet.part, sheet.pattern) == (25.0, 60.0, 25.0)


def test_a_part_without_a_plan_gets_no_sheet() -> None:
    worked = job(TOO_STRONG)
    if worked.feasible:
        pytest.skip("the shop's small brake can bend it")
    with pytest.raises(ValueError, match="no plan"):
        printed(worked)


@pytest.mark.parametrize(
    ("legs_mm", "by"), [((25.0, 60.0, 12.0), ["protractor", "projector"]), ((15.0, 60.0, 15.0), ["protractor"] * 2)]
)
def test_an_angle_beside_a_leg_under_15_mm_is_no_work_for_a_protractor(
    legs_mm: tuple[float, ...], by: list[str]
) -> None:
    worked = job(CHANNEL)
    part = replace(worked.part, section=replace(worked.part.section, legs_mm=legs_mm))
    rows = printed(replace(worked, part=part)).measures[:2]
    assert [row.instrument.code.rsplit(".", 1)[-1] for row in rows] == by


def test_an_open_hem_is_measured_over_both_layers_and_its_gap() -> None:
    """Two layers of 2 mm and 1.5 between them."""
    assert over_layers(WantedBend(1, 180.0, kind="hem", gap_mm=1.5), 2.0).nominal == 5.5
    assert over_layers(WantedBend(1, 180.0, kind="hem", gap_mm=0.0), 2.0).nominal == 4.0
