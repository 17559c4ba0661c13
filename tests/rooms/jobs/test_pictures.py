"""Pictures of the steps as files of their own."""

import xml.etree.ElementTree as ET

from flangewise.jobs.printed import HEIGHT_MM, WIDTH_MM, step_pictures

from .worked import TOO_STRONG, ZED, job


def test_one_whole_svg_file_for_each_step() -> None:
    worked = job(ZED)
    assert worked.setup is not None
    found = dict(step_pictures(worked))
    assert sorted(found) == [step.step for step in worked.setup.steps]
    for text in found.values():
        root = ET.fromstring(text)
        assert root.get("width") == f"{WIDTH_MM:g}mm"
        assert float((root.get("height") or "").removesuffix("mm")) >= HEIGHT_MM


def test_inch_pictures_say_inch_numbers() -> None:
    worked = job(ZED)
    assert worked.setup is not None
    x_mm = worked.setup.steps[0].stops.x_mm
    assert x_mm is not None
    assert f"X {x_mm / 25.4:.3f}" in dict(step_pictures(worked, units="inch"))[1]


def test_a_job_without_a_plan_has_none() -> None:
    worked = job(TOO_STRONG)
    assert bool(worked.feasible) is bool(list(step_pictures(worked)))
