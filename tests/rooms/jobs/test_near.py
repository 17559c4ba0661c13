"""Cautions for what is passed closely: by the shop's own figure, at the step where it is passed."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flangewise.findings import Finding
from flangewise.jobs import Job, worked_out
from flangewise.setup import near_findings
from flangewise.shop import Shop

from .made import part, toy


def keeping(least_mm: float) -> Shop:
    return replace(toy(), defaults=toy().defaults.model_copy(update={"clearance_mm": least_mm}))


def near(job: Job) -> list[Finding]:
    return [each for each in job.findings if each.code == "near-miss"]


def close_channel(shop: Shop) -> Job:
    """Legs 42 over a web of 60: at the limit, 42.65, a disc of 0.70 about the end of the middle line touches the punch.

    0.65 shorter that end is 0.70 + 0.65 sin 45.9 = 1.17 away, and the corner of the square edge 0.75 cos 45.9 nearer.
    """
    return worked_out(part([42, 60, 42], [90, 90]), shop)


def test_the_toy_shop_keeps_nothing_and_is_told_nothing() -> None:
    assert near(close_channel(toy())) == []


def test_a_step_that_passes_closer_than_the_shop_keeps() -> None:
    job = close_channel(keeping(1.0))
    (finding,) = near(job)
    assert finding.severity == "caution" and finding.place() == "step 2" and job.feasible is True
    half = math.radians(45.9)
    told = dict(finding.phrase.values)["clearance_mm"]
    assert told == pytest.approx(0.70 + 0.65 * math.sin(half) - 0.75 * math.cos(half), abs=0.03)


def test_the_figure_decides() -> None:
    job = close_channel(keeping(0.3))
    assert near(job) == [] and job.setup is not None
    assert len(near_findings(job.setup, least_mm=1000)) == sum(
        step.planned.step.clearance_mm is not None for step in job.setup.steps
    )


def test_what_is_written_as_the_figure_is_no_nearer_than_it() -> None:
    job = close_channel(keeping(1.0))
    assert job.setup is not None
    (step,) = [step for step in job.setup.steps if (step.planned.step.clearance_mm or 9) < 1.0]
    passes_mm = step.planned.step.clearance_mm
    assert passes_mm is not None
    assert near_findings(job.setup, least_mm=round(passes_mm, 2)) == ()
    assert len(near_findings(job.setup, least_mm=round(passes_mm, 2) + 0.01)) == 1
