"""Whether the scatter of an angle holds what the drawing allows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from flangewise.bend import Spread
from flangewise.findings import Finding, caution, place
from flangewise.setup.hit import Hit
from flangewise.words import phrase


def spread_findings(spread: Spread | None, hit: Hit) -> tuple[Finding, ...]:
    """A caution where the first piece is not likely to hold the tolerance, with what would help and why."""
    tolerance_deg = hit.chosen.tolerance_deg
    if spread is None or tolerance_deg is None or spread.first_piece_deg <= tolerance_deg:
        return ()
    told = caution(
        "angle-unlikely",
        hit.place,
        spread_deg=spread.first_piece_deg,
        tolerance_deg=tolerance_deg,
        measured_deg=spread.thickness_measured_deg,
        corrected_deg=spread.after_one_deg,
        cause=phrase(f"cause.{spread.dominant}"),
    )
    return (told,)


def told_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings of which each sentence stands once: steps that get the very same caution are named together in it."""
    together: dict[Finding, list[Finding]] = {}
    for finding in findings:
        together.setdefault(replace(finding, where=None), []).append(finding)
    return tuple(
        alike[0] if len(alike) == 1 else replace(bare, where=place("step", ", ".join(map(_number, alike))))
        for bare, alike in together.items()
    )


def _number(finding: Finding) -> str:
    return str(dict(finding.where.values)["number"]) if finding.where is not None else ""
