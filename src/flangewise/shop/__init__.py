"""What the shop owns: materials, punches, dies, machines, handlers, gauges.

Takes a folder of tables, or none for the built-in example shop, and the names of the tables needed. Gives a `Shop` of
frozen rows, or every fault of every file with its line and column. Relies on geometry to read tools off their outlines.
"""

from flangewise.shop.bodies import Segment
from flangewise.shop.check import named_findings
from flangewise.shop.copying import copy_shop
from flangewise.shop.defaults import ANY, Defaults, Layers, Rule
from flangewise.shop.dies import Die
from flangewise.shop.gauges import GaugeFamily
from flangewise.shop.handlers import Handler, Move
from flangewise.shop.learned import (
    DeductionKey,
    DepthKey,
    LearnedDeduction,
    LearnedDepth,
    deduction_key,
    deduction_key_of,
    depth_key,
    depth_key_of,
    learned_deduction,
    learned_depth,
)
from flangewise.shop.listing import listed
from flangewise.shop.load import BUILT_IN, ROWS, TABLES, Shop, load_shop
from flangewise.shop.machines import Beam, Machine
from flangewise.shop.materials import Material, least_radius_mm
from flangewise.shop.measured import (
    MeasuredBends,
    MeasuredRow,
    added_text,
    measured_text,
    parse_measured,
    read_measured,
    text_of,
)
from flangewise.shop.punches import Punch, ShopTool
from flangewise.shop.radii import Grain, LeastRadius, table_radius_mm
from flangewise.shop.remembered import (
    RememberedDeduction,
    RememberedDepth,
    remembered_deductions,
    remembered_depths,
)
from flangewise.shop.row import unfit
from flangewise.shop.schemas import table_schema
from flangewise.shop.tolerances import ThicknessTolerance, thickness_tolerance_mm

__all__ = [
    "ANY",
    "BUILT_IN",
    "ROWS",
    "TABLES",
    "Beam",
    "DeductionKey",
    "Defaults",
    "DepthKey",
    "Die",
    "GaugeFamily",
    "Grain",
    "Handler",
    "Layers",
    "LearnedDeduction",
    "LearnedDepth",
    "LeastRadius",
    "Machine",
    "Material",
    "MeasuredBends",
    "MeasuredRow",
    "Move",
    "Punch",
    "RememberedDeduction",
    "RememberedDepth",
    "Rule",
    "Segment",
    "Shop",
    "ShopTool",
    "ThicknessTolerance",
    "added_text",
    "copy_shop",
    "deduction_key",
    "deduction_key_of",
    "depth_key",
    "depth_key_of",
    "learned_deduction",
    "learned_depth",
    "least_radius_mm",
    "listed",
    "load_shop",
    "measured_text",
    "named_findings",
    "parse_measured",
    "read_measured",
    "remembered_deductions",
    "remembered_depths",
    "table_radius_mm",
    "table_schema",
    "text_of",
    "thickness_tolerance_mm",
    "unfit",
]
