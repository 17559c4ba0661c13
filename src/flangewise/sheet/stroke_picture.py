"""A hit as a page shows it moving: tools that stand, tools that come down, and the part at moments of the stroke.

Seen from the left end of the machine like the picture of a step: operator right, backgauge left. All places are mm of
the machine, across and down from the die's centre and top, so that a view is a stretch of the machine itself.
"""

from collections.abc import Iterable

from flangewise import drawing as draw
from flangewise.clearance import Body, Outline
from flangewise.records import dataclass
from flangewise.sequence import StrokeMoment
from flangewise.sheet.data import SheetStep
from flangewise.sheet.wording import Wording

FINGER = "finger"
EDGE_MM = 4.0
"""Room around what a view shows."""
DIE_SEEN_MM = 45.0
"""So much of a die shows below its top, and of a punch over its nose."""
NEAR_MM = 22.0
"""Half the least width of the view of the bend alone."""


@dataclass(frozen=True)
class ShownMoment:
    """A moment on the page: the part as path data, how far the ram stands above its lowest place, and words for it.

    `back_mm` is how far the stops have gone back by then.
    """

    part: str
    lift_mm: float
    back_mm: float
    words: str


@dataclass(frozen=True)
class StrokePicture:
    """Paths of the bodies by name, those that stand and those that go with the ram at the bottom; the moments in order.

    `whole` and `near` are the views, as SVG says them: all of the part, and the bend alone. The stop's finger goes back
    once the part is pinched; it is None for a hit without stops.
    """

    finger: str | None
    standing: tuple[tuple[str, str], ...]
    with_ram: tuple[tuple[str, str], ...]
    moments: tuple[ShownMoment, ...]
    whole: str
    near: str


def stroke_picture(step: SheetStep, wording: Wording) -> StrokePicture:
    """The picture of one hit, from the ram up to the bottom of the stroke. Raises ValueError without moments."""
    if not step.moments:
        raise ValueError(f"step {step.keyed.step} has no moments to show")
    paths = dict(_paths(step.bodies))
    return StrokePicture(
        finger=paths.get(FINGER),
        standing=tuple(_paths(each for each in step.bodies if not each.with_ram and each.name != FINGER)),
        with_ram=tuple(_paths(each for each in step.bodies if each.with_ram)),
        moments=tuple(_shown(moment, step, wording) for moment in step.moments),
        whole=_view(_whole(step, [each.outline_mm for each in step.moments])),
        near=_view(_near(step)),
    )


def _shown(moment: StrokeMoment, step: SheetStep, wording: Wording) -> ShownMoment:
    back_mm = step.keyed.stops.retract_mm if moment.outline_mm != step.moments[0].outline_mm else 0.0
    lift_mm = moment.nose_mm - step.moments[-1].nose_mm
    return ShownMoment(_path(moment.outline_mm), round(lift_mm, 2), round(back_mm, 2), _words(moment, step, wording))


def _words(moment: StrokeMoment, step: SheetStep, wording: Wording) -> str:
    """Where the ram is before it touches, then the angle under load, or how much of the stroke is done."""
    bottom_mm, touch_mm = step.moments[-1].nose_mm, _touch_mm(step)
    if moment.nose_mm > touch_mm + 1e-6:
        return wording.word("tablet.moment-down", height=wording.length(moment.nose_mm, 0.1))
    if moment.turned_deg is not None:
        return wording.word("tablet.moment-turn", angle=wording.angle(180.0 - moment.turned_deg))
    share = (touch_mm - moment.nose_mm) / (touch_mm - bottom_mm) if touch_mm > bottom_mm else 1.0
    return wording.word("tablet.moment-share", percent=wording.plain(100 * share, 0))


def _touch_mm(step: SheetStep) -> float:
    """How high the nose stands when it touches: the last moment at which the part still lies as it was laid on."""
    laid = step.moments[0].outline_mm
    return min(each.nose_mm for each in step.moments if each.outline_mm == laid)


def _path(outline: Outline) -> str:
    return draw.path_data(tuple((across, -up) for across, up in outline), closed=True)


def _paths(bodies: Iterable[Body]) -> Iterable[tuple[str, str]]:
    return ((body.name, _path(body.points_mm)) for body in bodies)


def _tools(step: SheetStep) -> draw.Box:
    """The upper part of the die, and the punch's nose from its highest place to its lowest; the stop's finger."""
    die = [point for body in step.bodies if body.name == "die" for point in body.points_mm]
    finger = [point for body in step.bodies if body.name == FINGER for point in body.points_mm]
    seen = [(across, min(-up, DIE_SEEN_MM)) for across, up in die] + [(across, -up) for across, up in finger]
    return draw.bounds([*seen, (0.0, -step.moments[0].nose_mm - DIE_SEEN_MM / 3), (0.0, -step.moments[-1].nose_mm)])


def _whole(step: SheetStep, outlines: Iterable[Outline]) -> draw.Box:
    part = draw.bounds((across, -up) for outline in outlines for across, up in outline)
    tools = _tools(step)
    left, top = min(part.left_mm, tools.left_mm), min(part.top_mm, tools.top_mm)
    return draw.Box(left, top, max(part.right_mm, tools.right_mm), max(part.bottom_mm, tools.bottom_mm))


def _near(step: SheetStep) -> draw.Box:
    """The bend, with as much of the die as its opening and shoulders take."""
    die = [across for body in step.bodies if body.name == "die" for across, up in body.points_mm if up > -1.0]
    half_mm = max(NEAR_MM, *(abs(across) for across in die)) if die else NEAR_MM
    return draw.Box(-half_mm, -half_mm, half_mm, half_mm * 0.6)


def _view(box: draw.Box) -> str:
    seen = box.grown(EDGE_MM)
    sides = (seen.left_mm, seen.top_mm, seen.width_mm, seen.height_mm)
    return " ".join(f"{side:.1f}" for side in sides)
