"""A flat blank that comes as a drawing (DXF): outline, cut-outs, bend lines, faces between them and how they hang.

Takes a drawing and what a part file says of it; gives a DrawnBlank, or every fault of the drawing at once.
"""

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
