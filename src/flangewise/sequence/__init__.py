"""Which bend when, which way round, with which of the offered tools: the least handling, with its proof.

Takes a section as a chain, its operations with the tools offered, and prices, all plain numbers. Gives a
plan with what it proves, or the proof that there is none and what is in the way.
Relies on geometry and clearance.
"""

from flangewise.sequence.moves import Move
from flangewise.sequence.problem import (
    Costs,
    Gauge,
    Hit,
    Operation,
    SearchLimits,
    SectionProblem,
    ToolOption,
)
from flangewise.sequence.proof import solve
from flangewise.sequence.solution import Blocker, Gauging, Solution, Step

__all__ = [
    "Blocker",
    "Costs",
    "Gauge",
    "Gauging",
    "Hit",
    "Move",
    "Operation",
    "SearchLimits",
    "SectionProblem",
    "Solution",
    "Step",
    "ToolOption",
    "solve",
]
