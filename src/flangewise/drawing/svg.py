"""A drawing as SVG text: neighbouring lines of one pen in one path, lengths in mm, nothing fetched from outside."""

from collections.abc import Iterator
from html import escape
from itertools import groupby, pairwise

from flangewise.drawing.items import Drawing, Item, Line, Pen, Point, Text, number

FONT = "DejaVu Sans"
# Two greys that differ on paper and leave black lines readable on them.
SHADES = {"pale": "#ececec", "grey": "#cfcfcf"}
# What hides what lies below, so that the order of drawing counts.
COVERING = ("white", *SHADES)


def svg(drawing: Drawing, *, standalone: bool = False) -> str:
    """The drawing as one `svg` element, sized in mm, with its description as title for screen readers.

    `standalone` gives it the head that a file of its own wants; inside a page it is left out.
    """
    head = '<?xml version="1.0" encoding="UTF-8"?>\n' if standalone else ""
    title = f"<title>{escape(drawing.described, quote=False)}</title>" if drawing.described else ""
    return (
        f'{head}<svg xmlns="http://www.w3.org/2000/svg" role="img" '
        f'width="{number(drawing.width_mm)}mm" height="{number(drawing.height_mm)}mm" '
        f'viewBox="0 0 {number(drawing.width_mm)} {number(drawing.height_mm)}" '
        f'font-family="{FONT}" fill="none" stroke="none" stroke-linejoin="round">{title}'
        f"{''.join(_elements(drawing.items))}</svg>"
    )


def _elements(items: tuple[Item, ...]) -> Iterator[str]:
    for (look, _), group in groupby(enumerate(items), key=_kind):
        members = [item for _, item in group]
        if look is None:
            yield from (_text(item) for item in members if isinstance(item, Text))
        else:
            data = "".join(path_data(item.points_mm, closed=item.closed) for item in members if isinstance(item, Line))
            yield f'<path d="{data}"{_paint(*look)}/>'


def _kind(numbered: tuple[int, Item]) -> tuple[tuple[Pen | None, str] | None, int]:
    """What lets lines share a path: same pen, same fill. Ones that hide what lies below stand alone."""
    place, item = numbered
    if not isinstance(item, Line):
        return None, 0
    return (item.pen, item.fill), place if item.fill in COVERING else 0


def path_data(points_mm: tuple[Point, ...], *, closed: bool) -> str:
    """The `d` of a path through the points, in hundredths of a mm, each step told from the point before.

    Steps are taken between rounded points, so rounding never adds up along a path.

    >>> path_data(((0, 0), (10, 0), (10, 2.5)), closed=True)
    'M0 0h10v2.5z'
    """
    spots = [(round(x, 2), round(y, 2)) for x, y in points_mm]
    steps = (_step(here, there) for here, there in pairwise(spots))
    return f"M{number(spots[0][0])} {number(spots[0][1])}{''.join(steps)}{'z' if closed else ''}"


def _step(here: Point, there: Point) -> str:
    right, down = number(there[0] - here[0]), number(there[1] - here[1])
    if down == "0":
        return "" if right == "0" else f"h{right}"
    return f"v{down}" if right == "0" else f"l{right} {down}"


def _paint(pen: Pen | None, fill: str) -> str:
    filled = "" if fill == "none" else f' fill="{SHADES.get(fill, fill)}"'
    if pen is None:
        return filled
    dash = f' stroke-dasharray="{" ".join(number(each) for each in pen.dash_mm)}"' if pen.dash_mm else ""
    return f'{filled} stroke="black" stroke-width="{number(pen.weight_mm)}"{dash}'


def _text(text: Text) -> str:
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    weight = ' font-weight="bold"' if text.bold else ""
    x, y = text.at_mm
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(text.size_mm)}"{anchor}{weight} '
        f'fill="black">{escape(text.words, quote=False)}</text>'
    )
