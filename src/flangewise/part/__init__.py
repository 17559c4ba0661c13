"""What is wanted: a part file read and found usable.

Takes the text of a part file and the shop. Gives a Part, or every fault of the file at once with line and column.
Relies on the shop for names and gauges, and on bend for what a bend takes of its legs.
"""

from flangewise.part.bends import BendKind, WantedBend
from flangewise.part.fields import WantedGauge
from flangewise.part.file import part_of, read_part
from flangewise.part.find import STANDARD_INPUT, FoundPart, find_files, read_parts
from flangewise.part.fit import half_size_mm
from flangewise.part.machines import machines_wanted
from flangewise.part.model import DrawingTolerances, Part, Section, Sizes, WantedHole, part_schema

__all__ = [
    "STANDARD_INPUT",
    "BendKind",
    "DrawingTolerances",
    "FoundPart",
    "Part",
    "Section",
    "Sizes",
    "WantedBend",
    "WantedGauge",
    "WantedHole",
    "find_files",
    "half_size_mm",
    "machines_wanted",
    "part_of",
    "part_schema",
    "read_part",
    "read_parts",
]
