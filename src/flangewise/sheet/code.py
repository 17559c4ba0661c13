"""The square code at the foot: part, revision and plan hash, and nothing that the text beside it does not say."""

from itertools import groupby

import segno

from flangewise.drawing import Box, Drawing, Line

CLEAR_MODULES = 4
"""Clear border of a QR code, in modules (ISO/IEC 18004, from memory)."""
CODE_MM = 21.0


def identity_text(part: str, revision: str, plan_hash: str) -> str:
    """What the code says: part|revision|hash."""
    return f"{part}|{revision}|{plan_hash}"


def code_picture(text: str, described: str, *, size_mm: float = CODE_MM) -> Drawing:
    """The text as a QR code with its clear border, its black modules drawn as one path."""
    rows = [list(row) for row in segno.make_qr(text, error="m", boost_error=False).matrix]
    module_mm = size_mm / (len(rows) + 2 * CLEAR_MODULES)
    lines: list[Line] = []
    for down, row in enumerate(rows):
        at = 0
        for dark, run in groupby(row):
            wide = len(list(run))
            if dark:
                lines.append(_block(at, down, wide, module_mm))
            at += wide
    return Drawing(size_mm, size_mm, tuple(lines), described)


def _block(at: int, down: int, wide: int, module_mm: float) -> Line:
    left, top = (at + CLEAR_MODULES) * module_mm, (down + CLEAR_MODULES) * module_mm
    box = Box(left, top, left + wide * module_mm, top + module_mm)
    return Line(box.corners_mm, None, closed=True, fill="black")
