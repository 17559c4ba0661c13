"""Why an operation cannot be made: what meets what, in which states, by how much."""

from __future__ import annotations

from flangewise.sequence.search import Search, Unfolded
from flangewise.sequence.solution import Blocker


def blockers_of(search: Search, unfolded: Unfolded) -> tuple[Blocker, ...]:
    """Stub."""
    return ()
