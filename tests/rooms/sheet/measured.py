"""A picture read back from its SVG text, by other means than those that drew it, and judged: what overlaps what.

Text boxes come from the glyphs of the font file itself (ink bounds, read with fontTools), lines from the path data.
"""

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from numpy.typing import NDArray

FOLDER = "/usr/share/fonts/truetype/dejavu/"
SVG = "{http://www.w3.org/2000/svg}"
STEP = re.compile(r"([MLlhvz])([^MLlhvz]*)")


@dataclass(frozen=True)
class Seen:
    """What a picture holds: its size, the lines and black shapes as drawn, with their bounds, each text with its box.

    A stroke is (points, closed, half its width); a black shape has half width 0 and is closed.
    """

    width: float
    height: float
    strokes: list[tuple[list[tuple[float, float]], bool, float]]
    texts: list[tuple[str, shapely.Geometry]]
    bounds: NDArray[np.float64]


@cache
def _font(bold: bool) -> tuple[object, dict[int, str], object]:
    font = TTFont(FOLDER + ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"))
    return font.getGlyphSet(), font.getBestCmap(), font["hmtx"]


@cache
def _glyph(letter: str, bold: bool) -> tuple[float, tuple[float, float, float, float] | None]:
    glyphs, names, advances = _font(bold)
    name = names[ord(letter)]
    pen = BoundsPen(glyphs)
    glyphs[name].draw(pen)
    return advances[name][0], pen.bounds


def ink_box(words: str, size: float, bold: bool) -> tuple[float, float, float, float, float]:
    """Advance width, and left, bottom, right, top of the ink, base point at the origin, up positive."""
    at, boxes = 0.0, []
    for letter in words:
        advance, bounds = _glyph(letter, bold)
        if bounds:
            boxes.append((at + bounds[0], bounds[1], at + bounds[2], bounds[3]))
        at += advance
    scale = size / 2048
    left, low = min(b[0] for b in boxes), min(b[1] for b in boxes)
    right, high = max(b[2] for b in boxes), max(b[3] for b in boxes)
    return at * scale, left * scale, low * scale, right * scale, high * scale


def runs(data: str) -> list[tuple[list[tuple[float, float]], bool]]:
    """The sub-paths of path data, and whether each is closed."""
    found: list[tuple[list[tuple[float, float]], bool]] = []
    for letter, rest in STEP.findall(data):
        numbers = [float(each) for each in rest.split()]
        if letter == "M":
            found.append(([(numbers[0], numbers[1])], False))
            continue
        points, _ = found[-1]
        x, y = points[-1]
        if letter == "z":
            found[-1] = (points, True)
        elif letter == "h":
            points.append((x + numbers[0], y))
        elif letter == "v":
            points.append((x, y + numbers[0]))
        else:
            points.append((x + numbers[0], y + numbers[1]))
    return found


def seen(svg: str) -> Seen:
    """The picture as read back."""
    root = ET.fromstring(svg)
    _, _, width, height = (float(each) for each in root.get("viewBox", "").split())
    strokes: list[tuple[list[tuple[float, float]], bool, float]] = []
    texts: list[tuple[str, shapely.Geometry]] = []
    for element in root:
        if element.tag == SVG + "path":
            half = float(element.get("stroke-width", "0")) / 2
            for points, closed in runs(element.get("d", "")):
                if element.get("fill") == "black" and len(points) > 2:
                    strokes.append((points, True, 0.0))
                if half and len(points) > 1:
                    strokes.append((points, closed, half))
        elif element.tag == SVG + "text":
            texts.append(_text(element))
    bounds = np.array([_bounds(points) for points, _, _ in strokes]).reshape(-1, 4)
    return Seen(width, height, strokes, texts, bounds)


def _bounds(points: list[tuple[float, float]]) -> tuple[float, float, float, float]:
    across, down = zip(*points, strict=True)
    return min(across), min(down), max(across), max(down)


def touches(picture: Seen, box: shapely.Geometry) -> bool:
    """Whether any line or black shape touches a text's box."""
    for place in _near(picture.bounds, box.bounds):
        points, closed, half = picture.strokes[place]
        ring = [*points, points[0]] if closed else points
        shape = shapely.LineString(ring).buffer(half, quad_segs=2) if half else shapely.Polygon(points).buffer(0)
        if shape.intersects(box):
            return True
    return False


def _near(bounds: NDArray[np.float64], box: tuple[float, float, float, float]) -> NDArray[np.intp]:
    """The strokes whose upright rectangle comes within a mm of a text's."""
    left, top, right, bottom = box
    first, upper, last, lower = bounds.T
    return np.flatnonzero((first < right + 1) & (last > left - 1) & (upper < bottom + 1) & (lower > top - 1))


def _text(element: ET.Element) -> tuple[str, shapely.Geometry]:
    words, size = element.text or "", float(element.get("font-size", "0"))
    width, left, low, right, high = ink_box(words, size, element.get("font-weight") == "bold")
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
    x, y = float(element.get("x", "0")) - back * width, float(element.get("y", "0"))
    return words, shapely.box(x + left, y - high, x + right, y - low)


def faults(svg: str) -> list[str]:
    """Every text that leaves the frame, touches a line or touches another text."""
    picture = seen(svg)
    frame = shapely.box(0, 0, picture.width, picture.height)
    found = [f"{words} leaves the frame" for words, box in picture.texts if not frame.covers(box)]
    found += [f"{words} on a line" for words, box in picture.texts if touches(picture, box)]
    for place, (words, box) in enumerate(picture.texts):
        found += [f"{words} on {other}" for other, their in picture.texts[place + 1 :] if box.intersects(their)]
    return found
