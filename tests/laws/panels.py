"""Random panels, written as a person writes them."""

from __future__ import annotations

import json
import random
from typing import Any

from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.pattern import NoBlank, PanelBlank, lay_out_panel
from flangewise.reading import read_yaml

from .sections import shop

THICKNESSES_MM = (0.8, 1.0, 1.5, 2.0, 3.0)
RECTANGLE = ("near", "right", "far", "left")


def written(seed: int) -> dict[str, Any]:
    """A panel of one to four sides of a rectangle or of an outline, with returns, tabs, mitres and holes."""
    draw = random.Random(seed)
    thickness = draw.choice(THICKNESSES_MM)
    if draw.random() < 0.75:
        base: Any = [draw.uniform(120, 400), draw.uniform(100, 300)]
        edges = list(RECTANGLE)
    else:
        wide, deep, cut = draw.uniform(200, 400), draw.uniform(180, 300), draw.uniform(60, 120)
        base = {"outline": [[0, 0], [wide, 0], [wide, deep - cut], [wide - cut, deep], [0, deep]]}
        edges = [f"edge {at}" for at in range(1, 6)]
    chosen = draw.sample(edges, draw.randint(1, len(edges)))
    panel: dict[str, Any] = {"base": base, "radius": draw.choice((0.5, 1.0, 2.0, 3.0))}
    turn = draw.choice((90, 90, 90, 60, 45, 120))
    alike = draw.random() < 0.5
    if alike:
        panel["corners"] = {"kind": draw.choice(("open", "closed")), "gap": draw.choice((0.2, 0.5, 1.0))}
    away = draw.random() < 0.2
    panel["flanges"] = {
        edge: _flanges(draw, {"turn": turn, "away": away} if alike else None, whole=alike) for edge in chosen
    }
    if draw.random() < 0.4:
        panel["sizes"] = draw.choice(("outside", "inside"))
    return {"part": "p", "material": "DC01", "thickness": thickness, "panel": panel}


def _bend(draw: random.Random) -> dict[str, Any]:
    return {"turn": draw.choice((90, 90, 60, 30, 110)), "away": draw.random() < 0.3}


def _flanges(draw: random.Random, bend: dict[str, Any] | None, *, whole: bool) -> Any:
    flange: dict[str, Any] = {"height": draw.uniform(18, 60), "bend": bend or _bend(draw)}
    if not whole and draw.random() < 0.5:
        if draw.random() < 0.5:
            return [
                {**flange, "from": 12, "to": 12 + draw.uniform(15, 30)},
                {**flange, "from": 44 + draw.uniform(0.5, 20), "to": 80},
            ]
        flange["inset"] = [draw.choice((0.0, 1.5, 12.0)), draw.uniform(8, 20)]
    if draw.random() < 0.5:
        tip: dict[str, Any] = {"height": draw.uniform(12, 25), "bend": _bend(draw)}
        if draw.random() < 0.5:
            tip["ends"] = "mitre"
        else:
            tip["mitre"] = draw.choice((0, 15, 45))
        flange["tip"] = tip
    return flange


def panel(data: dict[str, Any]) -> PanelPart:
    """The part of what is written."""
    found = part_of(read_yaml(json.dumps(data), "p.yaml"), "p.yaml", shop())
    assert isinstance(found, PanelPart)
    return found


def laid_out(part: PanelPart) -> PanelBlank | None:
    """Its blank with the radius asked for; None where its bends leave none."""
    radius_mm = part.panel.radius_mm or 1.0
    try:
        return lay_out_panel(part, shop(), radii_mm={bend.number: radius_mm for bend in part.panel.bends})
    except NoBlank:
        return None
