"""What a picture is made of: pens, lines and texts in mm of paper, right and down, held in an immutable drawing.

Nothing is told by colour or by grey alone: lines differ by weight (0.25, 0.5, 0.8 mm) and by dash, so that a picture
survives a photocopier; what is filled has its own edges. Source: common practice; weights from the series of
ISO 128-2, from memory.

How much room a text takes is told by the letter widths of DejaVu Sans, the font of pictures and sheets. They come with
the package (`widths.txt`, derived from the font files by a committed script), so a picture is laid out the same on a
machine without the font.
"""

from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Literal, TypeAlias

from flangewise.records import dataclass, replace

Point: TypeAlias = tuple[float, float]
"""A point of the picture in mm of paper: right, down."""
Fill: TypeAlias = Literal["none", "white", "pale", "grey", "black"]
Anchor: TypeAlias = Literal["start", "middle", "end"]
UNITS_PER_EM = 2048
TOP = 0.8
"""Top of the plain letters and brackets above the base line, in em."""
TOP_ACCENTED = 0.93
"""Top of an accented capital, in em."""
BOTTOM = 0.24
"""Lowest point of the letters and brackets below the base line, in em."""
_ACCENTED_CAPITALS = frozenset("ÀÁÂÃÄÅÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜÝ")


@dataclass(frozen=True)
class Pen:
    """How a line is drawn: weight and dash in mm of paper (drawn, left out, drawn ...; empty for a full line)."""

    weight_mm: float
    dash_mm: tuple[float, ...] = ()


THIN = Pen(0.25)
MEDIUM = Pen(0.5)
BOLD = Pen(0.8)
DASHED = Pen(0.25, (2.4, 1.2))
CHAIN = Pen(0.25, (6.0, 1.2, 0.8, 1.2))
BOLD_DASHED = Pen(0.5, (3.0, 1.5))

HATCH_PITCH_MM = 1.6
"""Distance of hatch lines; never under 1 mm, or a 200 dpi copy closes them to black. Common practice."""


def number(value_mm: float) -> str:
    """A coordinate as SVG text: a hundredth of a mm, no idle zeros, no minus zero.

    >>> number(1.50), number(-0.001), number(12.0)
    ('1.5', '0', '12')
    """
    text = f"{value_mm:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@cache
def _widths(weight: str) -> dict[int, int]:
    """Letter code to advance width, in units, for one weight of the font."""
    found: dict[int, int] = {}
    for row in files("flangewise.drawing").joinpath("widths.txt").read_text("ascii").splitlines():
        if row.startswith(weight):
            first, *widths = row.split()[1:]
            found.update(enumerate((int(width) for width in widths), start=int(first, 16)))
    return found


def text_width_mm(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of one line of text: the sum of its letters' advance widths, size_mm being the em.

    Kerning is left out (it only narrows). A letter the table lacks counts a whole em, more than nearly all take.

    >>> round(text_width_mm("H", 2.048), 3)   # 1540 units of the font
    1.54
    """
    widths = _widths("bold" if bold else "regular")
    return sum(widths.get(ord(letter), UNITS_PER_EM) for letter in words) * size_mm / UNITS_PER_EM


def top_of_text(words: str) -> float:
    """How high the letters of a text reach above the base line, in em."""
    return TOP_ACCENTED if _ACCENTED_CAPITALS & set(words) else TOP


def moved(point: Point, way: Point, far_mm: float) -> Point:
    """The point so far on along a direction."""
    return (point[0] + way[0] * far_mm, point[1] + way[1] * far_mm)


def between(here: Point, there: Point, share: float = 0.5) -> Point:
    """The place at a share of the way from one point to the other."""
    return (here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1]))


@dataclass(frozen=True)
class Box:
    """An upright rectangle of the picture: left, top, right, bottom in mm."""

    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float

    @property
    def width_mm(self) -> float:
        """From left to right, in mm."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """From top to bottom, in mm."""
        return self.bottom_mm - self.top_mm

    @property
    def centre_mm(self) -> Point:
        """The middle, (right, down) in mm."""
        return ((self.left_mm + self.right_mm) / 2, (self.top_mm + self.bottom_mm) / 2)

    @property
    def corners_mm(self) -> tuple[Point, Point, Point, Point]:
        """Its corners in order, from the upper left one to the right."""
        left, top, right, bottom = self.left_mm, self.top_mm, self.right_mm, self.bottom_mm
        return (left, top), (right, top), (right, bottom), (left, bottom)

    def grown(self, by_mm: float) -> "Box":
        """The box with every side moved out (in, if negative) by so much."""
        return Box(self.left_mm - by_mm, self.top_mm - by_mm, self.right_mm + by_mm, self.bottom_mm + by_mm)

    def moved(self, right_mm: float, down_mm: float) -> "Box":
        """The box somewhere else."""
        return Box(self.left_mm + right_mm, self.top_mm + down_mm, self.right_mm + right_mm, self.bottom_mm + down_mm)

    def holds(self, other: "Box") -> bool:
        """Whether the other box lies inside this one, edges included."""
        across = self.left_mm <= other.left_mm and other.right_mm <= self.right_mm
        return across and self.top_mm <= other.top_mm and other.bottom_mm <= self.bottom_mm

    def meets(self, other: "Box") -> bool:
        """Whether the two boxes share more than an edge."""
        across = self.left_mm < other.right_mm and other.left_mm < self.right_mm
        return across and self.top_mm < other.bottom_mm and other.top_mm < self.bottom_mm


@dataclass(frozen=True)
class Line:
    """A run of straight strokes; closed back to its first point, filled, or both, as said."""

    points_mm: tuple[Point, ...]
    pen: Pen | None = THIN
    closed: bool = False
    fill: Fill = "none"


@dataclass(frozen=True)
class Text:
    """One line of writing: a point on its base line, its font size (em) in mm, and where in it the point is."""

    at_mm: Point
    words: str
    size_mm: float
    bold: bool = False
    anchor: Anchor = "start"

    @property
    def box(self) -> Box:
        """The room the writing takes: its advance width, from the top of the letters to below the base line."""
        width_mm = text_width_mm(self.words, self.size_mm, bold=self.bold)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        left_mm = self.at_mm[0] - back * width_mm
        top_mm = self.at_mm[1] - top_of_text(self.words) * self.size_mm
        return Box(left_mm, top_mm, left_mm + width_mm, self.at_mm[1] + BOTTOM * self.size_mm)


Item: TypeAlias = Line | Text


@dataclass(frozen=True)
class Drawing:
    """A picture: its size on paper, the things drawn in order, and words for those who cannot see it."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...] = ()
    described: str = ""
    labels_in: Box | None = None
    """Where labels may be put: all of the frame, unless strips of it are kept for other words."""

    @property
    def frame(self) -> Box:
        """The edge of the picture."""
        return Box(0.0, 0.0, self.width_mm, self.height_mm)

    def adding(self, items: Iterable[Item]) -> "Drawing":
        """The drawing with more on top."""
        return replace(self, items=self.items + tuple(items))

    def lines(self) -> tuple[Line, ...]:
        """All lines, in drawing order."""
        return tuple(item for item in self.items if isinstance(item, Line))

    def texts(self) -> tuple[Text, ...]:
        """All texts, in drawing order."""
        return tuple(item for item in self.items if isinstance(item, Text))
