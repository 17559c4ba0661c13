"""Steps at which the part passes tools or machine closer than the shop likes."""

from __future__ import annotations

from flangewise.findings import Finding, caution
from flangewise.setup.step import Setup


def near_findings(setup: Setup, *, least_mm: float) -> tuple[Finding, ...]:
    """A caution for each step whose least clearance is below `least_mm`, the shop's own figure.

    A step without a clearance has nothing near but what it is meant to touch.
    """
    cleared = ((step.planned.place, step.planned.step.clearance_mm) for step in setup.steps)
    return tuple(
        caution("near-miss", where, clearance_mm=clearance_mm, least_mm=least_mm)
        for where, clearance_mm in cleared
        if clearance_mm is not None and clearance_mm < least_mm
    )
