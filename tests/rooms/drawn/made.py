"""Small drawings, made with the library that reads them, and what the reader says of them."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from flangewise.drawn import BendEntry, DrawnBlank, DrawnWish, LineBend, Undrawn, read_drawing
from flangewise.findings import Finding
from flangewise.geometry import Point

CUT, TOWARD, AWAY = "CUT", "BEND-TOWARD", "BEND-AWAY"
PLATE = ((0.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0))
# A plate of 120 x 80 with a line 40 from its left edge.
LINE = ((40.0, 0.0), (40.0, 80.0), TOWARD)
SQUARE = DrawnWish(bend=LineBend(90.0))
Line = tuple[Point, Point, str]


def drawing(
    *lines: Line,
    outline: Sequence[Point] = PLATE,
    more: Callable[[Any], object] | None = None,
    unit: int = 4,
    scale: float = 1.0,
    version: str = "R2010",
) -> Any:
    """A document: the outline as single lines on CUT, bend lines, and what `more` adds to its model space."""
    document = ezdxf.new(version)  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = unit
    space = document.modelspace()
    edges = [(*pair, CUT) for pair in zip(outline, [*outline[1:], outline[0]], strict=True)]
    for one, other, layer in [*edges, *lines]:
        ends = [(x * scale, y * scale) for x, y in (one, other)]
        space.add_line(*ends, dxfattribs={"layer": layer})
    if more is not None:
        more(space)
    return document


def written(document: Any, folder: Path) -> Path:
    """The document as a file of that folder."""
    text = io.StringIO()
    document.write(text)
    path = folder / "blank.dxf"
    path.write_bytes(document.encode(text.getvalue()))
    return path


def read(document: Any, folder: Path, wish: DrawnWish = SQUARE) -> DrawnBlank:
    """The blank that a document shows."""
    return read_drawing(written(document, folder), wish)


def faults(document: Any, folder: Path, wish: DrawnWish = SQUARE) -> list[Finding]:
    """The faults of a document that cannot be used; the test fails where it can."""
    with pytest.raises(Undrawn) as told:
        read(document, folder, wish)
    return [each for each in told.value.findings if each.severity == "refuse"]


def texts(found: Sequence[Finding]) -> list[str]:
    """Place and sentence of each finding, in English."""
    return [": ".join(filter(None, (each.place(), each.text()))) for each in found]


def on(layer: str) -> dict[str, Any]:
    """The attribute that puts an entity on a layer."""
    return {"dxfattribs": {"layer": layer}}


def entry(x: float, y: float, turn_deg: float | None = None, radius_mm: float | None = None) -> BendEntry:
    """What a part file says of the line near a point."""
    return BendEntry((x, y), turn_deg, radius_mm)
