"""What is wanted: a part file read and found usable.

Takes the text of a part file and the shop; gives a Part, or every fault of the file with line and column.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .bends import BendKind as BendKind, Face as Face, WantedBend as WantedBend
from .fields import WantedGauge as WantedGauge
from .file import FoundPart as FoundPart, part_of as part_of, read_part as read_part, read_parts as read_parts
from .fit import half_size_mm as half_size_mm
from .machines import machines_wanted as machines_wanted
from .model import (
    JOB_CARD as JOB_CARD,
    MEASURED_MM as MEASURED_MM,
    Part as Part,
    Section as Section,
    WantedHole as WantedHole,
)
from .packing import Packing as Packing, PackingWay as PackingWay, Programs as Programs
from .schema import part_schema as part_schema

if TYPE_CHECKING:
    from .drawn import Drawn as Drawn
    from .panel import (
        BASE as BASE,
        BASE_FACE as BASE_FACE,
        Corner as Corner,
        CornerRelief as CornerRelief,
        Panel as Panel,
        Slot as Slot,
        WantedFlange as WantedFlange,
    )
    from .panel_part import PanelPart as PanelPart

# Loaded when first asked for: a section needs none of it.
__getattr__ = late(__name__, "panel", "drawn", "panel_part")
