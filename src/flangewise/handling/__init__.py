"""How the part is held, moved, put down and packed: what hand or gripper does about a set-up that is found.

Takes the order's question and its steps, the handler's row; gives grips, forces, moves and their seconds.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

if TYPE_CHECKING:
    from .cell import (
        Approach as Approach,
        Distance as Distance,
        Lost as Lost,
        bare as bare,
        distances as distances,
        entered as entered,
        intrusion_mm as intrusion_mm,
        lost as lost,
        lowest_field_mm as lowest_field_mm,
        questions as questions,
        slow_zone_mm as slow_zone_mm,
        stated as stated,
        walking_in_mm as walking_in_mm,
    )
    from .cell_plan import CellLayout as CellLayout, CellPlan as CellPlan, Out as Out
    from .follow import Rise as Rise, rise_of as rise_of
    from .gripper import (
        Grip as Grip,
        GripKind as GripKind,
        GripperShape as GripperShape,
        HeldPart as HeldPart,
        Hole as Hole,
        is_near_a_place as is_near_a_place,
    )
    from .held import GripPlanner as GripPlanner
    from .infeed import Stack as Stack, stack_of as stack_of
    from .least import LeastGrips as LeastGrips, least_grips as least_grips
    from .least_held import MOST_OPERATIONS as MOST_OPERATIONS, LeastHeld as LeastHeld
    from .nesting import (
        Nest as Nest,
        Paired as Paired,
        least_pitch_mm as least_pitch_mm,
        nest as nest,
        nesting_rule_mm as nesting_rule_mm,
        paired as paired,
        turned as turned,
    )
    from .packing import (
        Container as Container,
        Packed as Packed,
        PackingAsked as PackingAsked,
        Piece as Piece,
        by_mass as by_mass,
        dropped as dropped,
        in_a_stack as in_a_stack,
        pack as pack,
    )
    from .panel_held import PanelGripPlanner as PanelGripPlanner
    from .panel_hits import HeldPanel as HeldPanel, PanelHits as PanelHits
    from .panel_least_held import MOST_HELD as MOST_HELD, OpeningOf as OpeningOf, PanelHolding as PanelHolding
    from .panel_rules import AtHit as AtHit
    from .panel_told import panel_held_at as panel_held_at
    from .people import (
        Lift as Lift,
        frequency_factor as frequency_factor,
        lift_of as lift_of,
        recommended_kg as recommended_kg,
    )
    from .reach import out_of_jaw_mm as out_of_jaw_mm
    from .run_findings import findings_of as findings_of
    from .run_table import (
        STOPS as STOPS,
        Hold as Hold,
        Phase as Phase,
        RunHit as RunHit,
        phases as phases,
        run_hits as run_hits,
    )
    from .run_time import (
        Attended as Attended,
        Batch as Batch,
        Compared as Compared,
        RunTime as RunTime,
        attended as attended,
        breaks_even_at as breaks_even_at,
        by_hand as by_hand,
        by_robot as by_robot,
        compared as compared,
        job_s as job_s,
    )
    from .run_words import (
        alone_line as alone_line,
        box_lines as box_lines,
        distance_said as distance_said,
        infeed_lines as infeed_lines,
        label_line as label_line,
        lacking as lacking,
        layout_lines as layout_lines,
        lost_line as lost_line,
        opened as opened,
        out_lines as out_lines,
        phase_cells as phase_cells,
        tables as tables,
        without_cell as without_cell,
    )
    from .stacking import stacked as stacked, stood_in_pairs as stood_in_pairs
    from .told import (
        HeldAt as HeldAt,
        held_at as held_at,
        holding_findings as holding_findings,
        missing_inputs as missing_inputs,
        with_holding as with_holding,
        without_hands as without_hands,
    )
    from .why import why_lines as why_lines

# Loaded when first asked for: where a person tends the machine little of it is asked.
__getattr__ = late(
    __name__,
    *("held", "gripper", "follow", "told", "least", "least_held", "why"),
    *(
        "cell",
        "cell_plan",
        "infeed",
        "nesting",
        "packing",
        "panel_held",
        "panel_hits",
        "panel_least_held",
        "panel_rules",
        "panel_told",
        "people",
        "reach",
        "run_findings",
        "run_table",
        "run_time",
        "run_words",
        "stacking",
    ),
)
