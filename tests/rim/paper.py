"""Pictures read by position: what is drawn with which pen, where on the paper, and which words stand there."""

from __future__ import annotations

import re
from functools import cache
from xml.etree import ElementTree

from .read_back import sheet_html

SVG = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]
Run = list[Point]


@cache
def pictures(name: str) -> list[tuple[str, ElementTree.Element]]:
    """Each picture of an example's sheet after what it is said to show."""
    return pictures_of(sheet_html(name))


def pictures_of(page: str) -> list[tuple[str, ElementTree.Element]]:
    """Each picture of a page after what it is said to show."""
    found = [ElementTree.fromstring(each) for each in re.findall(r"<svg.*?</svg>", page, re.DOTALL)]
    return [(picture.findtext(f"{SVG}title", ""), picture) for picture in found]


def the_picture(page: list[tuple[str, ElementTree.Element]], title: str) -> ElementTree.Element:
    """The one picture that is said to show this."""
    (found,) = (picture for told, picture in page if told.startswith(title))
    return found


def runs(picture: ElementTree.Element, width: str, *, dashed: bool = False) -> list[Run]:
    """The runs drawn by a pen, as points on the paper; a closed one ends where it begins."""
    return [
        run
        for path in picture.iter(f"{SVG}path")
        if path.get("stroke-width") == width and bool(path.get("stroke-dasharray")) == dashed
        for run in runs_of(path.get("d", ""))
    ]


def filled(picture: ElementTree.Element) -> list[Run]:
    """The runs that are filled."""
    return [run for path in picture.iter(f"{SVG}path") if path.get("fill") for run in runs_of(path.get("d", ""))]


def words_at(picture: ElementTree.Element) -> list[tuple[str, Point]]:
    """The words of a picture with their places, in the order in which they are drawn."""
    texts = picture.iter(f"{SVG}text")
    return [(each.text or "", (float(each.get("x", "nan")), float(each.get("y", "nan")))) for each in texts]


def boxed(run: Run) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a run."""
    xs, ys = zip(*run, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def middle(run: Run) -> Point:
    """The middle of a run's bounds."""
    left, top, right, bottom = boxed(run)
    return (left + right) / 2, (top + bottom) / 2


def runs_of(data: str) -> list[Run]:
    """The runs of a path of moves and straight lines."""
    found: list[Run] = []
    at = (0.0, 0.0)
    for letter, text in re.findall(r"([A-Za-z])([^A-Za-z]*)", data):
        values = [float(each) for each in re.findall(r"-?\d*\.?\d+", text)]
        if letter in "zZ":
            found[-1].append(found[-1][0])
            at = found[-1][0]
            continue
        if letter in "hHvV":
            for value in values:
                move = (value, 0.0) if letter in "hH" else (0.0, value)
                base = at if letter.islower() else ((0.0, at[1]) if letter == "H" else (at[0], 0.0))
                at = (base[0] + move[0], base[1] + move[1])
                found[-1].append(at)
            continue
        for place, (x, y) in enumerate(zip(values[::2], values[1::2], strict=True)):
            at = (at[0] + x, at[1] + y) if letter.islower() else (x, y)
            if letter in "mM" and place == 0:
                found.append([at])
            else:
                found[-1].append(at)
    return found
