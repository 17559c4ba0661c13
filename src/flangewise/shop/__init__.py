"""What the shop owns: materials, punches, dies, machines, handlers, gauges.

Takes a folder of tables (none: the example shop), gives a `Shop` of frozen rows, or every fault with line and column.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .bodies import Ear as Ear, Segment as Segment
from .boxes import PartsBox as PartsBox
from .cell import Cell as Cell, Infeed as Infeed, Lifting as Lifting, Running as Running
from .defaults import ANY as ANY, Defaults as Defaults, LayerNames as LayerNames, PaperName as PaperName
from .grippers import (
    ArmTurn as ArmTurn,
    FoundBy as FoundBy,
    Gripper as Gripper,
    GripperKind as GripperKind,
    Supply as Supply,
    TurnAxis as TurnAxis,
)
from .learned import (
    LearnedDeduction as LearnedDeduction,
    LearnedDepth as LearnedDepth,
    RememberedDeduction as RememberedDeduction,
    RememberedDepth as RememberedDepth,
    bend_key as bend_key,
    learned_deduction as learned_deduction,
    learned_depth as learned_depth,
    remembered_deductions as remembered_deductions,
    remembered_depths as remembered_depths,
)
from .load import (
    BUILT_IN as BUILT_IN,
    ROWS as ROWS,
    TABLES as TABLES,
    Shop as Shop,
    copy_shop as copy_shop,
    load_shop as load_shop,
)
from .machines import Beam as Beam, Handler as Handler, Machine as Machine, Move as Move, SideStop as SideStop
from .materials import (
    GaugeFamily as GaugeFamily,
    Grain as Grain,
    Material as Material,
    table_radius_mm as table_radius_mm,
    thickness_tolerance_mm as thickness_tolerance_mm,
)
from .measured import (
    MeasuredBends as MeasuredBends,
    MeasuredRow as MeasuredRow,
    added_text as added_text,
    measured_text as measured_text,
    parse_measured as parse_measured,
    read_measured as read_measured,
    text_of as text_of,
)
from .row import unfit as unfit
from .tools import Die as Die, Punch as Punch, named_findings as named_findings

if TYPE_CHECKING:
    from .listing import listed as listed, table_schema as table_schema

# Loaded when first asked for: what only looks at the shop is no part of bending.
__getattr__ = late(__name__, "listing")
