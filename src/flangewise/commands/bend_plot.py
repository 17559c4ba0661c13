"""Force and angle of one bend against depth, drawn: the stroke, the release, and the limits of the tools."""

from collections.abc import Iterator
from pathlib import Path

from flangewise.bend import StrokePoints, stroke
from flangewise.commands import Settings
from flangewise.commands.output import write_out
from flangewise.drawing import Curve, Limit, chart, svg
from flangewise.faults import Fault, Unusable
from flangewise.punch_die import Answer, PunchDie
from flangewise.units import in_units
from flangewise.words import Value, look_up, phrase, say

POINTS = 60


def write_plot(result: Answer, file: Path, settings: Settings) -> None:
    """Force on the left scale, turn on the right, depth level; what is released shows as the fall at the end.

    To a file, whole or not at all. Raises Unusable where the bend has no stroke to draw.
    """
    made, units = result.made, settings.units
    if made is None or made.model is None or made.air is None or made.depth_mm is None:
        wrong = "there is no stroke to draw: no tools bend it so"
        raise Unusable([Fault("command line", None, None, "--plot", wrong, "change the tools or the angle")])
    model, loaded_deg = made.model, made.air.loaded_turn_deg
    along = stroke(model.setup, model.swift, to_loaded_turn_deg=loaded_deg, learned=model.learned, points=POINTS)
    stock = result.asked.stock
    sheet: dict[str, Value] = {"material": stock.material.name, "thickness_mm": stock.thickness_mm}
    tools: dict[str, Value] = {"opening_mm": made.tools.opening_mm, "nose_mm": made.tools.nose_radius_mm}
    drawing = chart(
        tuple(_curves(along, made, units)),
        tuple(_limits(made, units)),
        title=say(phrase("plot.title", turn_deg=result.turn_deg, **sheet, **tools), units=units),
        across=say(phrase(f"plot.depth-{units}")),
        left=say(phrase("plot.force")),
        right=say(phrase("plot.turn")),
    )
    write_out(file, svg(drawing, standalone=True).encode(), settings)


def _curves(along: StrokePoints, made: PunchDie, units: str) -> Iterator[Curve]:
    depths = [in_units(depth, units) for depth in along.depth_mm]
    yield Curve(say(phrase("plot.force-curve")), depths, along.force_kn_per_m)
    yield Curve(say(phrase("plot.loaded-curve")), depths, along.loaded_turn_deg, side="right")
    yield Curve(say(phrase("plot.finished-curve")), depths, along.turn_deg, side="right")
    end = in_units(made.depth_mm or 0.0, units)
    released = (made.loaded_turn_deg or 0.0, made.turn_deg or 0.0)
    springback = say(phrase("plot.release", springback_deg=look_up(made, "air.springback_deg")))
    yield Curve(springback, (end, end), released, side="right")


def _limits(made: PunchDie, units: str) -> Iterator[Limit]:
    for body, tool in (("punch", made.tools.punch), ("die", made.tools.die)):
        if tool is not None:
            yield Limit(say(phrase(f"body.{body}", name=tool.name)), tool.load_kn_per_m)
    if made.force_from != "model" and made.limit_force_kn_per_m is not None:
        yield Limit(say(phrase("plot.checked-with")), made.limit_force_kn_per_m)
    end = say(phrase("plot.end", depth_mm=made.depth_mm), units=units)
    yield Limit(end, in_units(made.depth_mm or 0.0, units), "across")
