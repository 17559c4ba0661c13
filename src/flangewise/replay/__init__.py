"""A plan stepped through by a second, simpler simulator that shares no collision code with the planner.

Takes a section as plain numbers, a plan in its JSON shape (ours or edited by hand) and the bodies of tools and machine.
Gives a finding for every difference between what the plan says and what stepping through it shows.
Relies on its own folding, dense turns and the whole part's outline against each body; slower than the search, and
meant to be.
"""

from .bodies import Bodies as Bodies, Solid as Solid, Stack as Stack, bodies_of as bodies_of
from .fold import NumberedBend as NumberedBend, SectionNumbers as SectionNumbers
from .panel_fold import FaceNumbers as FaceNumbers, PanelNumbers as PanelNumbers, ZoneNumbers as ZoneNumbers
from .panel_plan import PanelPlanStep as PanelPlanStep, read_panel_steps as read_panel_steps
from .panel_stops import SidePlate as SidePlate
from .panel_stroke import Ears as Ears
from .panel_walk import PanelMachine as PanelMachine, replay_panel as replay_panel
from .plan import PlanStep as PlanStep, read_steps as read_steps
from .walk import replay as replay
