"""Pens: the few line weights and dashes every picture is drawn with, and how numbers are written in SVG.

Nothing is told by colour or by grey: lines differ by weight (0.25, 0.5, 0.8 mm) and by dash, so that a picture
survives a photocopier. Source: common practice; weights from the series of ISO 128-2, from memory.
"""

from dataclasses import dataclass
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
"""A point of the picture in mm of paper: right, down."""


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
