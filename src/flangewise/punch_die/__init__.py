"""Punches and dies offered for each bend, best first, each with what it makes of the sheet and what speaks against it.

Takes plain wishes, the stock and the shop's tools; gives frozen `PunchDie` offers, and stations on the bed.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .forming import drawn_spread as drawn_spread, expected_spread as expected_spread
from .learned import (
    deduction_of as deduction_of,
    depth_of as depth_of,
    learned_notes as learned_notes,
    learned_offers as learned_offers,
    taught as taught,
)
from .limits import (
    NEAR_SHARE as NEAR_SHARE,
    concentrated_kn_per_m as concentrated_kn_per_m,
    may_crack as may_crack,
    off_centre_force_kn as off_centre_force_kn,
)
from .offer import at_depth as at_depth, nothing_offered as nothing_offered, offer as offer, usable as usable
from .pair import (
    BendWish as BendWish,
    Ideal as Ideal,
    Model as Model,
    Mounting as Mounting,
    Pair as Pair,
    PunchDie as PunchDie,
    Stock as Stock,
    Tooling as Tooling,
)

if TYPE_CHECKING:
    from .answers import Answer as Answer, Question as Question, answer as answer
    from .rows import Apart as Apart, Placed as Placed, Row as Row, rows_apart as rows_apart, rows_of as rows_of
    from .stations import (
        SAME_SHUT_HEIGHT_MM as SAME_SHUT_HEIGHT_MM,
        SegmentUse as SegmentUse,
        Station as Station,
        cover as cover,
        may_stand_beside as may_stand_beside,
        place_stations as place_stations,
        row_sums as row_sums,
        segment_texts as segment_texts,
        segments_mm as segments_mm,
        stands_on_mm as stands_on_mm,
    )

# Loaded when first asked for: a single bend puts no tools on a bed, a plan asks for no single bend; both start quickly.
__getattr__ = late(__name__, "stations", "rows", answers=("Answer", "Question", "answer"))
