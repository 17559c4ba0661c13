"""One part worked out as far as the blank and the findings need it."""

from __future__ import annotations

from dataclasses import dataclass

from flangewise.bend import chart_radius_mm, usual_opening_mm
from flangewise.findings import Finding
from flangewise.part import Part, WantedBend
from flangewise.pattern import FlatPattern, NoBlank, lay_out
from flangewise.shop import Shop


@dataclass(frozen=True)
class Worked:
    """A part, its blank (None where its bends leave none) and all findings."""

    part: Part
    pattern: FlatPattern | None
    findings: tuple[Finding, ...]


def worked(part: Part, shop: Shop) -> Worked:
    """The blank with the radius asked for, or that of the usual die opening."""
    try:
        pattern = lay_out(part, shop, radii_mm={bend.number: _radius_mm(bend, part) for bend in part.section.bends})
    except NoBlank as impossible:
        return Worked(part, None, impossible.findings)
    return Worked(part, pattern, pattern.findings)


def _radius_mm(bend: WantedBend, part: Part) -> float:
    if bend.kind == "hem":
        return (bend.gap_mm or 0.0) / 2
    asked_mm = bend.radius_mm if bend.radius_mm is not None else part.section.radius_mm
    return asked_mm if asked_mm is not None else chart_radius_mm(usual_opening_mm(part.thickness_mm))
