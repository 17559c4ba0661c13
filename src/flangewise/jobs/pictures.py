"""The pictures of a job's steps, each a file of its own."""

from __future__ import annotations

from collections.abc import Iterator

from flangewise.drawing import svg
from flangewise.jobs.job import Job
from flangewise.jobs.printed import printed
from flangewise.sheet import Wording, step_picture

WIDTH_MM, HEIGHT_MM = 170.0, 120.0


def step_pictures(job: Job, *, units: str = "mm", lang: str = "en") -> Iterator[tuple[int, str]]:
    """Number and SVG text of every step, seen from the left end of the machine; nothing for a job without a plan."""
    if job.setup is None or not job.feasible:
        return
    wording = Wording(job.machine, lang, units)
    for step in printed(job).steps:
        yield step.keyed.step, svg(step_picture(step, wording, width_mm=WIDTH_MM, height_mm=HEIGHT_MM), standalone=True)
