"""A flat blank that comes as a drawing (DXF): outline, cut-outs, bend lines, faces between them and how they hang.

Takes a drawing and what a part file says of it; gives a DrawnBlank, or every fault of the drawing at once.
"""

from typing import TYPE_CHECKING

from flangewise.late import late

from .blank import (
    BendEntry as BendEntry,
    DrawnBlank as DrawnBlank,
    DrawnFace as DrawnFace,
    DrawnLine as DrawnLine,
    DrawnWish as DrawnWish,
    LineBend as LineBend,
    Undrawn as Undrawn,
)
from .read import read_drawing as read_drawing

if TYPE_CHECKING:
    from .section import DrawnSection as DrawnSection, as_section as as_section

__getattr__ = late(__name__, "section")
