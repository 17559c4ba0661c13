"""How the part is held, moved, put down and packed: what hand or gripper does about a set-up that is found.

Takes the order's question and its steps, the handler's row; gives grips, forces, moves and their seconds.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

if TYPE_CHECKING:
    from .follow import Rise as Rise, rise_of as rise_of
    from .gripper import HeldPart as HeldPart, Hole as Hole
    from .held import GripPlanner as GripPlanner
    from .least import least_more_s as least_more_s
    from .told import (
        HeldAt as HeldAt,
        held_at as held_at,
        holding_findings as holding_findings,
        missing_inputs as missing_inputs,
        with_holding as with_holding,
    )
    from .why import why_lines as why_lines

# Loaded when first asked for: where a person tends the machine nothing of it is asked.
__getattr__ = late(__name__, "held", "gripper", "follow", "told", "least", "why")
