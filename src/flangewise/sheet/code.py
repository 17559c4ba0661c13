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
    lines = []
    for down, row in enumerate(rows, start=CLEAR_MODULES):
        at = CLEAR_MODULES
        for dark, run in groupby(row):
            wide = len(list(run))
            if dark:
                box = Box(at * module_mm, down * module_mm, (at + wide) * module_mm, (down + 1) * module_mm)
                lines.append(Line(box.corners_mm, None, closed=True, fill="black"))
            at += wide
    return Drawing(size_mm, size_mm, tuple(lines), described)
