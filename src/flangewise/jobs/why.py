"""Why there is no order: the search's reasons as findings, one a bend, the hardest first."""

from __future__ import annotations

from collections.abc import Sequence

from flangewise.findings import Finding, caution, place, refuse
from flangewise.jobs.order import Ordered
from flangewise.sequence import Blocker
from flangewise.words import Phrase, phrase

# So many reasons are read; more of the same kind follow from these.
MOST_REASONS = 4


def order_findings(ordered: Ordered) -> tuple[Finding, ...]:
    """What stands in the way of every order, or that none was found in the time allowed."""
    solution = ordered.solution
    labels = [operation.label for operation in ordered.problem.operations]
    reasons = tuple(_finding(blocker, labels) for blocker in _telling(solution.blockers))
    if solution.feasible is None:
        return (caution("order-not-known"), *(_softened(reason) for reason in reasons))
    return reasons or (refuse("no-order"),)


def _softened(reason: Finding) -> Finding:
    return Finding("note", reason.code, reason.where, reason.phrase, reason.step, reason.bodies, reason.overlap_mm)


def _telling(blockers: Sequence[Blocker]) -> list[Blocker]:
    """One reason a bend and body, those nearest to being free first."""
    kept: dict[tuple[int, str], Blocker] = {}
    for blocker in blockers:
        kept.setdefault((blocker.operation, _body(blocker)), blocker)
    return list(kept.values())[:MOST_REASONS]


def _finding(blocker: Blocker, labels: Sequence[str]) -> Finding:
    told = refuse(
        f"blocked-{blocker.against}",
        place("bend", labels[blocker.operation]),
        state=_state(blocker, labels),
        piece=_piece_phrase(blocker),
        body=phrase(f"body.plain-{_body(blocker)}"),
        overlap_mm=blocker.overlap_mm or 0.0,
    )
    bodies = (_piece(blocker), _body(blocker))
    return told.at_step(len(blocker.bent) + 1, bodies=bodies, overlap_mm=blocker.overlap_mm)


def _body(blocker: Blocker) -> str:
    """What the piece of the part meets: a body of tools or machine, the stop, or the part itself."""
    others = [body for body in blocker.bodies if body != "part"]
    return others[0] if others else ("stop" if blocker.against == "stop" else "part")


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


def _piece_phrase(blocker: Blocker) -> Phrase:
    if blocker.piece is None:
        return phrase("piece.part")
    number = blocker.piece // 2 + 1
    return place("leg" if blocker.piece % 2 == 0 else "bend", number)
