"""Which bend when, which way round, with which of the offered tools: the least handling, with its proof.

Takes a section as a chain, its operations with the tools offered, and prices, all plain numbers. Gives a
plan with what it proves, or the proof that there is none and what is in the way.
Relies on geometry and clearance.
"""

from flangewise.sequence.datum import (
    Gauged,
    SizeError,
    Tolerances,
    leg_errors,
    leg_terms,
    legs_measured,
)
from flangewise.sequence.hold import Hold, keeps
from flangewise.sequence.holding import Held, errors_of, solve_within
from flangewise.sequence.moves import Axis, Move, MoveKind
from flangewise.sequence.problem import (
    Asked,
    Costs,
    Gauge,
    Hit,
    HoldRule,
    Operation,
    SearchLimits,
    SectionProblem,
    StopTravel,
    ToolOption,
)
from flangewise.sequence.proof import Kept, Made, least_priced, solve
from flangewise.sequence.runners import RunnerUp, runner_ups
from flangewise.sequence.seconds import Fastest, HitTime, Ram, Swing, travel_s
from flangewise.sequence.solution import Blocker, Datum, Gauging, Solution, Step
from flangewise.sequence.stop_effect import StopEffect, effects_of, gauged_by_operation, stop_changes, stop_effects

__all__ = [
    "Asked",
    "Axis",
    "Blocker",
    "Costs",
    "Datum",
    "Fastest",
    "Gauge",
    "Gauged",
    "Gauging",
    "Held",
    "Hit",
    "HitTime",
    "Hold",
    "HoldRule",
    "Kept",
    "Made",
    "Move",
    "MoveKind",
    "Operation",
    "Ram",
    "RunnerUp",
    "SearchLimits",
    "SectionProblem",
    "SizeError",
    "Solution",
    "Step",
    "StopEffect",
    "StopTravel",
    "Swing",
    "Tolerances",
    "ToolOption",
    "effects_of",
    "errors_of",
    "gauged_by_operation",
    "keeps",
    "least_priced",
    "leg_errors",
    "leg_terms",
    "legs_measured",
    "runner_ups",
    "solve",
    "solve_within",
    "stop_changes",
    "stop_effects",
    "travel_s",
]
