"""The whole way for one part, and many parts.

Takes parts and the shop. Gives a Job a part: blank, tools, order, setup, findings. Relies on every room before it.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .by_hand import hand_steps as hand_steps
from .job import Job as Job, OtherMachine as OtherMachine
from .machines import worked_out as worked_out
from .remembered import RememberedWork as RememberedWork
from .suggest import work_out as work_out
from .why import runners_up as runners_up

if TYPE_CHECKING:
    from .cell import cell_plan as cell_plan
    from .changes import PlanChange as PlanChange, changed_since as changed_since, told_value as told_value
    from .estimate import Estimate as Estimate, estimates as estimates, people_first as people_first
    from .panel import PanelJob as PanelJob, panel_worked_out as panel_worked_out
    from .panel_cell import panel_cell_plan as panel_cell_plan
    from .panel_mends import worked_out_panel as worked_out_panel
    from .panel_plan import PanelPlan as PanelPlan, planned_panel as planned_panel
    from .panel_reasons import panel_why as panel_why
    from .panel_replay import panel_replayed as panel_replayed
    from .panel_sheet import drafted_panel as drafted_panel
    from .panel_tried import tried_panel as tried_panel
    from .panel_ways import panel_handled_ways as panel_handled_ways
    from .plan_file import replayed as replayed, section_numbers as section_numbers
    from .queue import Waiting as Waiting, queues as queues, waiting as waiting
    from .tried import tag_of as tag_of, tools_of as tools_of, tried_piece as tried_piece
    from .ways import HandledWay as HandledWay, handled_ways as handled_ways

# Loaded when first asked for: the simulator and the first piece are no part of planning.
__getattr__ = late(
    __name__,
    "plan_file",
    "tried",
    changes=("PlanChange", "changed_since", "told_value"),
    cell=("cell_plan",),
    estimate=("Estimate", "estimates", "people_first"),
    queue=("Waiting", "queues", "waiting"),
    ways=("HandledWay", "handled_ways"),
    panel=("PanelJob", "panel_worked_out"),
    panel_cell=("panel_cell_plan",),
    panel_mends=("worked_out_panel",),
    panel_plan=("PanelPlan", "planned_panel"),
    panel_replay=("panel_replayed",),
    panel_sheet=("drafted_panel",),
    panel_tried=("tried_panel",),
    panel_ways=("panel_handled_ways",),
    panel_reasons=("panel_why",),
)
