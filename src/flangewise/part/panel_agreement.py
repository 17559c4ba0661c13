"""Whether the names in a panel's file agree with each other, told even where some single value is wrong."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from flangewise.faults import FaultCollector, Steps, name_fits
from flangewise.part.agreement import check_name, check_order
from flangewise.part.fields import shown
from flangewise.part.panel import BASE, SIDES
from flangewise.part.panel_file import ALL, CORNER_KEYS, edges_named, face_names, is_edge_key, spread
from flangewise.shop import Shop

_LONGEST = 100


def check_panel_names(raw: Mapping[str, Any], shop: Shop, collector: FaultCollector) -> dict[str, Steps]:
    """Edges that are there, faces that holes lie in, corners of two edges, tools of the shop, an order of all bends.

    Gives where each flange stands in the file, by its face's name.
    """
    panel = raw.get("panel")
    if not isinstance(panel, dict):
        return {}
    edges = _base_edges(panel.get("base"))
    faces: dict[str, Steps] = {BASE: ("panel", "base")}
    bends = 0
    for steps, name, flange in _flanges(panel.get("flanges"), ("panel", "flanges"), BASE, edges, collector):
        bends += 1
        if name in faces:
            fits = "give each its own `name`, or leave it out"
            collector.value(steps, f"two faces are named {shown(name)}", fits)
        faces[name] = steps
        bend = flange.get("bend")
        if isinstance(bend, dict):
            place = (*steps, "bend")
            check_name(bend.get("punch"), shop.punches, steps=(*place, "punch"), table="punches", collector=collector)
            check_name(bend.get("die"), shop.dies, steps=(*place, "die"), table="dies", collector=collector)
    _check_corners(panel.get("corners"), edges, collector)
    _check_holes(panel.get("holes"), faces, collector)
    check_tolerances(raw.get("tolerances"), faces, collector)
    order = raw.get("order")
    if bends and isinstance(order, list) and order:
        check_order(order, bends, collector)
    return faces


def _base_edges(base: Any) -> tuple[str, ...]:
    if not isinstance(base, dict):
        return SIDES
    outline, names = base.get("outline"), base.get("names")
    if isinstance(names, list):
        return tuple(str(name) for name in names)
    return tuple(f"edge {at}" for at in range(1, (len(outline) if isinstance(outline, list) else 0) + 1))


def _flanges(
    raw: Any, steps: Steps, on: str, edges: Collection[str], collector: FaultCollector
) -> Iterator[tuple[Steps, str, Mapping[str, Any]]]:
    """Every flange with its path in the file and its face's name; edges that are not there are told."""
    if not isinstance(raw, dict):
        return
    for key in raw:
        wrong = [name for name in edges_named(key) if name not in edges and (key, on) != (ALL, BASE)]
        if wrong:
            of = "" if on == BASE else f"{on} has "
            fits = f"its edges are {', '.join(edges)}"
            near = name_fits(wrong[0][:_LONGEST], edges)
            collector.key((*steps, key), f"{of}no edge {shown(wrong[0])}", f"{near} {fits}" if "?" in near else fits)
    for key, edge, value in spread(raw, tuple(edges)):
        tabs = value if isinstance(value, list) else [value]
        if edge not in edges or not all(isinstance(tab, dict) for tab in tabs):
            continue
        names = face_names(on, edge, [_own_name(tab) for tab in tabs])
        for at, (name, tab) in enumerate(zip(names, tabs, strict=True)):
            place = (*steps, key, at) if isinstance(value, list) else (*steps, key)
            yield place, name, tab
            hung = {each: value for each, value in tab.items() if is_edge_key(each)}
            yield from _flanges(hung, place, name, _edges_of(tab), collector)


def _own_name(tab: Mapping[str, Any]) -> str | None:
    name = tab.get("name")
    return str(name) if isinstance(name, (str, int)) and not isinstance(name, bool) else None


def _edges_of(tab: Mapping[str, Any]) -> tuple[str, ...]:
    shape = tab.get("shape")
    if isinstance(shape, list) and len(shape) > 1:
        return tuple(f"edge {at}" for at in range(1, len(shape)))
    return ("left", "tip", "right")


def _check_corners(corners: Any, edges: tuple[str, ...], collector: FaultCollector) -> None:
    if not isinstance(corners, dict) or not edges:
        return
    known = tuple(f"{one}/{other}" for one, other in zip(edges, (*edges[1:], *edges[:1]), strict=True))
    pairs = [frozenset(name.split("/")) for name in known]
    alone = bool(CORNER_KEYS & corners.keys())
    for name in () if alone else corners:
        if name != "each" and frozenset(name.split("/")) not in pairs:
            near = name_fits(name[:_LONGEST], (*known, "each"))
            collector.key(("panel", "corners", name), f"there is no corner {shown(name)}", near)
    for name, corner in [("", corners)] if alone else corners.items():
        over = corner.get("over") if isinstance(corner, dict) else None
        steps: Steps = ("panel", "corners", *([name] if name else []), "over")
        for each in over if isinstance(over, list) else [over] if isinstance(over, str) else []:
            for edge in edges_named(str(each)):
                if edge not in edges:
                    collector.value(steps, f"no edge {shown(edge)}", name_fits(edge[:_LONGEST], edges))


def _check_holes(holes: Any, faces: Collection[str], collector: FaultCollector) -> None:
    for index, hole in enumerate(holes if isinstance(holes, list) else ()):
        face = hole.get("face", BASE) if isinstance(hole, dict) else BASE
        if isinstance(face, str) and face not in faces:
            steps: Steps = ("panel", "holes", index, "face")
            collector.value(steps, f"there is no face {shown(face)}", f"faces are {_some(faces)}")


def check_tolerances(tolerances: Any, faces: Collection[str], collector: FaultCollector) -> None:
    """That tolerances of legs are one figure, or of faces there are."""
    legs = tolerances.get("legs") if isinstance(tolerances, dict) else None
    if isinstance(legs, list):
        collector.value(("tolerances", "legs"), "is a list", "give one figure, or one by the name of each face")
    for name in legs if isinstance(legs, dict) else ():
        if name not in faces:
            collector.key(("tolerances", "legs", name), f"there is no face {shown(name)}", f"faces are {_some(faces)}")


def _some(names: Collection[str]) -> str:
    listed = tuple(names)
    return ", ".join(listed[:8]) + (", ..." if len(listed) > 8 else "")
