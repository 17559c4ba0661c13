"""One plan a problem: within a process of tests, what was solved once is not searched for again."""

from __future__ import annotations

import sys

import pytest

from flangewise import jobs, sequence
from flangewise.sequence import SectionProblem, Solution

SOLVED: dict[SectionProblem, Solution] = {}
_solve = sequence.solve


def remembered(problem: SectionProblem, kept: object = None) -> Solution:
    """The plan of a problem, from memory where the very same one was solved before.

    Problems are frozen and their plans too, so one may serve many. What keeps shapes for further searches is solved.
    """
    if kept is not None:
        return _solve(problem, kept)  # type: ignore[arg-type]
    if problem not in SOLVED:
        SOLVED[problem] = _solve(problem)
    return SOLVED[problem]


@pytest.fixture(autouse=True)
def plans_are_remembered(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """The jobs ask the memory; the room of the search itself, and what is marked `anew`, search each time."""
    if request.node.get_closest_marker("anew") is not None:
        return
    for name, module in list(sys.modules.items()):
        if name.startswith(jobs.__name__) and getattr(module, "solve", None) is _solve:
            monkeypatch.setattr(module, "solve", remembered)
