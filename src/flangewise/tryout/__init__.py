"""The first piece: what was measured becomes corrections, and evidence for the next job.

Takes a piece as plain numbers, wanted, set and measured. Gives corrections of depth, stop and blank, the deductions it
shows with their uncertainty, and rows for `measured.csv`.
"""

from .correct import correct as correct, is_suspect as is_suspect
from .piece import (
    Corrections as Corrections,
    PanelSizes as PanelSizes,
    Readings as Readings,
    TriedBend as TriedBend,
    TriedPiece as TriedPiece,
)
from .readings_file import (
    DEPTH_MM as DEPTH_MM,
    LONGEST_MM as LONGEST_MM,
    MOST_PIECE as MOST_PIECE,
    STOP_MM as STOP_MM,
    part_read as part_read,
    read_readings as read_readings,
)
from .remember import (
    Remembered as Remembered,
    Tag as Tag,
    place_to_record as place_to_record,
    remember as remember,
    rows_of as rows_of,
)
