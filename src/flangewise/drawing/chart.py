"""A chart: curves over a common level axis, one scale of numbers left and perhaps one right, limits drawn in."""

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from flangewise.drawing.items import BOLD, BOLD_DASHED, CHAIN, MEDIUM, THIN, Box, Drawing, Item, Line, Point, Text
from flangewise.drawing.place import ABOVE, BELOW, LABEL_MM, Label, place
from flangewise.records import dataclass

WIDTH_MM, HEIGHT_MM = 180.0, 120.0
PENS = (BOLD, BOLD_DASHED, MEDIUM, THIN)
TEXT_MM = LABEL_MM


@dataclass(frozen=True)
class Curve:
    """One curve: its name, its points, and the side whose scale it is read from. The words carry the units."""

    name: str
    across: Sequence[float]
    up: Sequence[float]
    side: Literal["left", "right"] = "left"


@dataclass(frozen=True)
class Limit:
    """A value drawn in as a chain line: level on one side's scale, or upright at a place of the level axis."""

    name: str
    value: float
    side: Literal["left", "right", "across"] = "left"


@dataclass(frozen=True)
class _Axis:
    least: float
    step: float
    steps: int

    @property
    def most(self) -> float:
        return self.least + self.step * self.steps

    def share(self, value: float) -> float:
        return min(max((value - self.least) / (self.most - self.least), 0.0), 1.0)


def chart(
    curves: Sequence[Curve], limits: Sequence[Limit] = (), *, title: str, across: str, left: str, right: str = ""
) -> Drawing:
    """The curves with their axes, names set beside them and limits as chain lines.

    Edges: without a curve, or with a value that is not finite, ValueError; a curve that never changes gets an axis
    about its value. A limit beyond ten times the curves' reach is left out of the scale and named at the edge.
    """
    values = [value for curve in curves for value in (*curve.across, *curve.up)]
    if not values or not all(math.isfinite(value) for value in values):
        raise ValueError("a chart wants at least one curve, and finite numbers")
    plot = Box(18.0, 14.0, WIDTH_MM - (18.0 if right else 6.0), HEIGHT_MM - 16.0)
    axes = {side: _axis(_values(curves, limits, side)) for side in ("across", "left", "right")}
    drawing = Drawing(WIDTH_MM, HEIGHT_MM, described=title)
    drawing = drawing.adding(_grid(plot, axes, right=bool(right)))
    top, middle = plot.top_mm - 3.0, (plot.centre_mm[0], plot.bottom_mm + 11.5)
    titles = [Text((WIDTH_MM / 2, 4.6), title, TEXT_MM * 1.1, True, "middle"), Text((1.0, top), left, TEXT_MM)]
    titles.append(Text(middle, across, TEXT_MM, anchor="middle"))
    titles += [Text((WIDTH_MM - 1.0, top), right, TEXT_MM, anchor="end")] if right else []
    drawing = drawing.adding(titles)
    labels: list[Label] = []
    for limit in limits:
        line, name = _limit(limit, plot, axes)
        drawing = drawing.adding(line)
        labels.append(name)
    for curve, pen in zip(curves, PENS * len(curves), strict=False):
        spots = zip(curve.across, curve.up, strict=True)
        points = tuple(_spot(plot, axes, x=x, y=y, side=curve.side) for x, y in spots)
        drawing = drawing.adding([Line(points, pen)])
        labels.append(Label((curve.name,), points[len(points) * 2 // 3], TEXT_MM, True, (ABOVE, BELOW)))
    return place(drawing, labels)[0]


def _values(curves: Sequence[Curve], limits: Sequence[Limit], side: str) -> list[float]:
    if side == "across":
        found = [value for curve in curves for value in curve.across]
    else:
        found = [value for curve in curves if curve.side == side for value in curve.up]
    reach = max((abs(value) for value in found), default=0.0)
    return found + [limit.value for limit in limits if limit.side == side and abs(limit.value) <= 10 * reach]


def _axis(values: Sequence[float]) -> _Axis:
    """Round steps of 1, 2 or 5 that take in all values, six or so of them."""
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    low = min(low, 0.0) if low >= 0 or high - low > abs(low) * 0.2 else low
    spread = (high - low) or abs(high) or 1.0
    rough = spread / 6
    tens = 10.0 ** math.floor(math.log10(rough))
    step = next(times * tens for times in (1, 2, 5, 10) if times * tens >= rough * 0.999)
    least = math.floor(low / step + 1e-9) * step
    return _Axis(least, step, max(1, math.ceil((high * 1.02 - least) / step - 1e-9)))


def _spot(plot: Box, axes: dict[str, _Axis], *, x: float, y: float, side: str) -> Point:
    across, up = axes["across"].share(x), axes[side].share(y)
    return (plot.left_mm + across * plot.width_mm, plot.bottom_mm - up * plot.height_mm)


def _grid(plot: Box, axes: dict[str, _Axis], *, right: bool) -> Iterator[Item]:
    yield Line(plot.corners_mm, MEDIUM, closed=True)
    for tick in range(axes["across"].steps + 1):
        x = plot.left_mm + tick * plot.width_mm / axes["across"].steps
        yield Line(((x, plot.bottom_mm), (x, plot.bottom_mm + 1.5)), THIN)
        yield Text((x, plot.bottom_mm + 5.2), _tick(axes["across"], tick), TEXT_MM, anchor="middle")
    yield from _scale(axes["left"], plot, edge_mm=plot.left_mm, outward=-1.0)
    if right:
        yield from _scale(axes["right"], plot, edge_mm=plot.right_mm, outward=1.0)


def _scale(axis: _Axis, plot: Box, *, edge_mm: float, outward: float) -> Iterator[Item]:
    for tick in range(axis.steps + 1):
        y = plot.bottom_mm - tick * plot.height_mm / axis.steps
        yield Line(((edge_mm, y), (edge_mm + 1.5 * outward, y)), THIN)
        spot = (edge_mm + 2.5 * outward, y + 0.36 * TEXT_MM)
        yield Text(spot, _tick(axis, tick), TEXT_MM, anchor="start" if outward > 0 else "end")


def _tick(axis: _Axis, tick: int) -> str:
    value = axis.least + tick * axis.step
    digits = max(0, -math.floor(math.log10(axis.step) + 1e-9))
    return f"{value + 0.0:.{digits}f}"


def _limit(limit: Limit, plot: Box, axes: dict[str, _Axis]) -> tuple[list[Line], Label]:
    if limit.side == "across":
        x = plot.left_mm + axes["across"].share(limit.value) * plot.width_mm
        return [Line(((x, plot.top_mm), (x, plot.bottom_mm)), CHAIN)], Label((limit.name,), (x, plot.top_mm + 8.0))
    axis = axes[limit.side]
    y = plot.bottom_mm - axis.share(limit.value) * plot.height_mm
    inside = axis.least <= limit.value <= axis.most
    lines = [Line(((plot.left_mm, y), (plot.right_mm, y)), CHAIN)] if inside else []
    return lines, Label((limit.name,), (plot.left_mm + plot.width_mm * 0.25, y), prefer=(BELOW, ABOVE))
