"""What the setter keys in for each hit: stops, depth, opening, speeds, force, crowning, and where the tools stand.

Takes the steps of an order with the tools chosen for them, machine and handler; gives a frozen `Setup`, whole.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .limits import (
    LegError as LegError,
    Load as Load,
    held_within as held_within,
    leg_errors_of as leg_errors_of,
    most_loaded as most_loaded,
    size_findings as size_findings,
    tolerances_of as tolerances_of,
    with_corrections as with_corrections,
)
from .seconds import (
    TILTS as TILTS,
    WAYS as WAYS,
    around_s as around_s,
    handled as handled,
    hit_times as hit_times,
    side_exit as side_exit,
    words_before as words_before,
)
from .set_up import (
    first_piece as first_piece,
    near_findings as near_findings,
    set_up as set_up,
    stroke_s as stroke_s,
)
from .step import (
    Correction as Correction,
    Instruction as Instruction,
    Setup as Setup,
    SetupStep as SetupStep,
    Stops as Stops,
)
from .support import stands_behind as stands_behind
from .work import (
    PlannedHit as PlannedHit,
    Work as Work,
    WorkCentre as WorkCentre,
    Workpiece as Workpiece,
    angle_tolerance as angle_tolerance,
    leg_tolerances_mm as leg_tolerances_mm,
    planned_hits as planned_hits,
)

if TYPE_CHECKING:
    from .gauged_sizes import (
        PanelSize as PanelSize,
        own_sizes as own_sizes,
        panel_corrections as panel_corrections,
        panel_sizes as panel_sizes,
        size_names as size_names,
    )
    from .panel_set_up import (
        PanelBend as PanelBend,
        opening_mm as opening_mm,
        panel_step as panel_step,
        reach_mm as reach_mm,
        set_up_panel as set_up_panel,
        side_stop_mm as side_stop_mm,
    )

# Loaded when first asked for: a section needs no rows, and its sizes are legs.
__getattr__ = late(__name__, "panel_set_up", "gauged_sizes")
