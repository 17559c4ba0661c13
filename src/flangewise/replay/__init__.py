"""A plan stepped through by a second, simpler simulator that shares no collision code with the planner.

Takes a section as plain numbers, a plan in its JSON shape (ours or edited by hand) and the bodies of tools and machine.
Gives a finding for every difference between what the plan says and what stepping through it shows.
Relies on its own folding, dense turns and the whole part's outline against each body; slower than the search, and
meant to be.
"""

from flangewise.replay.bodies import Bodies, Solid, Stack, ToolShape, bodies_of
from flangewise.replay.plan import PlanStep, read_steps
from flangewise.replay.section import NumberedBend, SectionNumbers
from flangewise.replay.walk import replay

__all__ = [
    "Bodies",
    "NumberedBend",
    "PlanStep",
    "SectionNumbers",
    "Solid",
    "Stack",
    "ToolShape",
    "bodies_of",
    "read_steps",
    "replay",
]
