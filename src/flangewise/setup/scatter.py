"""What the scatter of an angle asks of the first piece, and findings that say the same said once."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from flangewise.findings import Finding, place
from flangewise.setup.step import SetupStep
from flangewise.words import Phrase, phrase


def first_piece(steps: Sequence[SetupStep]) -> tuple[Phrase, ...]:
    """What to expect of the first piece, then what brings it closer, by the step that scatters most.

    Nothing where every angle is expected within its tolerance, or where that cannot be computed.
    """
    wide = [
        (step.spread, step.planned.tolerance_deg)
        for step in steps
        if step.spread is not None
        and step.planned.tolerance_deg is not None
        and step.spread.first_piece_deg > step.planned.tolerance_deg
    ]
    if not wide:
        return ()
    spread, tolerance_deg = max(wide, key=lambda each: each[0].first_piece_deg)
    return (
        phrase("first-piece.expect", spread_deg=spread.first_piece_deg, tolerance_deg=tolerance_deg),
        phrase(
            "first-piece.helps",
            measured_deg=spread.thickness_measured_deg,
            corrected_deg=spread.after_one_deg,
            cause=phrase(f"cause.{spread.cause}"),
        ),
    )


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
