"""Steps at which the part passes tools or machine closer than the shop likes."""

from __future__ import annotations

from flangewise.findings import Finding, caution, place
from flangewise.setup import Setup


def near_findings(setup: Setup, *, least_mm: float) -> tuple[Finding, ...]:
    """A caution for each step whose least clearance is below `least_mm`, the shop's own figure.

    A step without a clearance has nothing near but what it is meant to touch.
    """
    return tuple(
        caution("near-miss", place("step", step.step), clearance_mm=step.clearance_mm, least_mm=least_mm)
        for step in setup.steps
        if step.clearance_mm is not None and step.clearance_mm < least_mm
    )
