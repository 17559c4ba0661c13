"""Why there is no order: the search's reasons as findings, one a bend, the hardest first."""

from __future__ import annotations

from collections.abc import Sequence

from flangewise.findings import Finding, caution, place, refuse
from flangewise.jobs.order import Ordered
from flangewise.part import Part
from flangewise.sequence import Blocker
from flangewise.words import Phrase, phrase

# So many reasons are read; more of the same kind follow from these.
MOST_REASONS = 4


def order_findings(ordered: Ordered, part: Part) -> tuple[Finding, ...]:
    """What stands in the way of every order, or that none was found in the time allowed."""
    solution = ordered.solution
    labels = [operation.label for operation in ordered.problem.operations]
    reasons = tuple(_finding(blocker, labels, part) for blocker in _telling(solution.blockers))
    if solution.feasible is None:
        return (caution("order-not-known"), *(_softened(reason) for reason in reasons))
    return reasons or (refuse("no-order"),)


def _softened(reason: Finding) -> Finding:
    return Finding("note", reason.code, reason.where, reason.phrase, reason.step, reason.bodies, reason.overlap_mm)


def _telling(blockers: Sequence[Blocker]) -> list[Blocker]:
    """One reason a bend and body, those that need the fewest other bends first."""
    kept: dict[tuple[int, tuple[str, ...]], Blocker] = {}
    for blocker in blockers:
        kept.setdefault((blocker.operation, blocker.bodies), blocker)
    return list(kept.values())[:MOST_REASONS]


def _finding(blocker: Blocker, labels: Sequence[str], part: Part) -> Finding:
    bodies = (_piece(blocker), *blocker.bodies) if len(blocker.bodies) < 2 else blocker.bodies
    told = refuse(
        f"blocked-{blocker.against}",
        place("bend", labels[blocker.operation]),
        state=_state(blocker, labels),
        piece=_piece_phrase(blocker, part),
        body=phrase(f"body.plain-{blocker.bodies[0]}") if blocker.bodies else phrase("body.plain-stop"),
        overlap_mm=blocker.overlap_mm or 0.0,
    )
    return told.at_step(len(blocker.bent) + 1, bodies=bodies, overlap_mm=blocker.overlap_mm)


def _state(blocker: Blocker, labels: Sequence[str]) -> Phrase:
    bent = ", ".join(labels[i] for i in blocker.bent)
    flat = ", ".join(labels[i] for i in blocker.flat)
    if bent and flat:
        return phrase("state.bent-and-flat", bent=bent, flat=flat)
    if bent:
        return phrase("state.bent", bent=bent)
    return phrase("state.flat", flat=flat) if flat else phrase("state.any")


def _piece(blocker: Blocker) -> str:
    if blocker.piece is None:
        return "part"
    return f"leg {blocker.piece // 2 + 1}" if blocker.piece % 2 == 0 else f"bend {blocker.piece // 2 + 1}"


def _piece_phrase(blocker: Blocker, part: Part) -> Phrase:
    if blocker.piece is None:
        return phrase("piece.part")
    number = blocker.piece // 2 + 1
    return place("leg" if blocker.piece % 2 == 0 else "bend", number)
