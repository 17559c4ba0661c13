"""A part file with `panel:` to its part, every fault told at once: what is sound is looked at where other is not."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from pydantic import TypeAdapter, ValidationError

from flangewise.faults import FaultCollector, Steps, Unusable
from flangewise.part.agreement import check_shop_names
from flangewise.part.panel import Panel
from flangewise.part.panel_agreement import check_panel_names
from flangewise.part.panel_file import PanelFile, is_edge_key
from flangewise.part.panel_fit import check_panel_sizes
from flangewise.part.panel_part import PanelPart, PanelPartFile, one_machine
from flangewise.part.schema import SHAPES, keys_at, panel_checker
from flangewise.part.values import without_empty
from flangewise.shop import Shop

# Wrong pieces are left out one after the other, as often as this, to look at the rest.
MOST_LEFT_OUT = 20


def read_panel(raw: Mapping[str, Any], file: str, shop: Shop, collector: FaultCollector) -> PanelPart:
    """The part with a panel that a file's data make. Raises Unusable with every fault of the file."""
    known = tell_others("panel", raw, collector)
    units = "inch" if raw.get("units") == "inch" else "mm"
    context = {"units": units, "shop": shop}
    check_shop_names(raw, shop, collector)
    panel = known.get("panel")
    _check_empty(panel.get("flanges") if isinstance(panel, dict) else None, ("panel", "flanges"), collector)
    known = without_empty(known)
    places = check_panel_names(known, shop, collector)
    written: PanelPartFile | None = None
    try:
        written = panel_checker().validate_python(known, context=context)
    except ValidationError as error:
        collector.checked([placed(each, known) for each in error.errors(include_url=False)], keys_at)
    sound = written.panel if written is not None else _what_is_sound(known.get("panel"), context)
    if sound is not None:
        check_panel_sizes(sound, places, units=units, collector=collector)
    if written is None or collector.found():
        raise Unusable(collector.found())
    given = {each.name: getattr(written, each.name) for each in fields(written)}
    return PanelPart(**one_machine(given), file=file)


def tell_others(kind: str, raw: Mapping[str, Any], collector: FaultCollector) -> dict[str, Any]:
    """The data without the keys that a part of this kind has not; each of them is told."""
    others = [key for key in SHAPES if key in raw and key != kind]
    for key in others:
        collector.key((key,), f"stands beside a {kind}", "keep one of them")
    return {key: value for key, value in raw.items() if key not in others}


def _check_empty(flanges: Any, above: Steps, collector: FaultCollector) -> None:
    """An edge with nothing after it: in braces `near, far` are two keys, and the first would be lost."""
    for key, value in flanges.items() if isinstance(flanges, dict) else ():
        steps = (*above, key)
        if value is None:
            collector.key(steps, "holds no flange", "write its flange; several edges in braces stand in quotes")
        elif isinstance(value, dict):
            _check_empty({each: hung for each, hung in value.items() if is_edge_key(each)}, steps, collector)


def placed(error: Mapping[str, Any], raw: Any) -> dict[str, Any]:
    """A checker's error, its path without the places in lists that the file does not have."""
    path: list[str | int] = []
    node = raw
    for step in error["loc"]:
        if isinstance(step, int) and isinstance(node, dict):
            continue
        path.append(step)
        if isinstance(node, dict):
            node = node.get(step, node)
        elif isinstance(node, list) and isinstance(step, int) and step < len(node):
            node = node[step]
    return {**error, "loc": tuple(path)}


def _what_is_sound(raw: Any, context: Mapping[str, Any]) -> Panel | None:
    """The panel without the entries that are wrong by themselves; None where it is not known what is left."""
    checker = TypeAdapter(PanelFile)
    for _ in range(MOST_LEFT_OUT):
        try:
            return checker.validate_python(raw, context=dict(context)).wanted()
        except ValidationError as error:
            paths = {_entry(raw, tuple(each["loc"])) for each in error.errors(include_url=False)}
        if None in paths:
            return None
        for path in paths:
            raw = _without(raw, path or ())
    return None


def _entry(raw: Any, loc: Steps) -> Steps | None:
    """The innermost mapping entry on a checker's path that can be left out: a flange's edge, a corner; else None."""
    path: list[str | int] = []
    node, best = raw, None
    for step in loc:
        if isinstance(node, dict) and step in node:
            path.append(step)
            node = node[step]
            if path[0] in ("corners", "flanges") and len(path) > 1 and isinstance(node, (dict, list)):
                best = tuple(path)
        elif isinstance(node, list) and isinstance(step, int) and step < len(node):
            path.append(step)
            node = node[step]
        if path and path[0] in ("holes", "radius", "sizes"):
            return ("" + str(path[0]),)
        if path and path[0] == "corners" and len(path) == 1 and not isinstance(node, dict):
            return ("corners",)
    if best is not None and path[0] == "flanges":
        edges = [
            at for at, step in enumerate(best) if isinstance(step, str) and step not in ("bend", "relief", "shape")
        ]
        return best[: edges[-1] + 1] if len(edges) > 1 else None
    return best


def _without(raw: Any, path: Steps) -> Any:
    """The data without the entry at a path of keys."""
    if not path or not isinstance(raw, (dict, list)):
        return raw
    first, rest = path[0], path[1:]
    if isinstance(raw, list):
        return [_without(each, rest) if at == first else each for at, each in enumerate(raw)]
    if not rest:
        return {key: value for key, value in raw.items() if key != first}
    return {key: _without(value, rest) if key == first else value for key, value in raw.items()}
