"""Whether the entries of a part file agree with each other, told even where some single value is wrong."""

from collections.abc import Collection, Mapping
from typing import Any

from flangewise.faults import FaultCollector, Steps, counted, name_fits
from flangewise.part.fields import shown
from flangewise.shop import ANY, Shop


def check_counts(raw: Mapping[str, Any], collector: FaultCollector) -> None:
    """As many bends as the legs need, tolerances a leg, holes in legs that exist, an order of all bends."""
    section = raw.get("section")
    if not isinstance(section, dict):
        return
    legs, bends = _list(section, "legs"), _list(section, "bends")
    if legs and bends and len(bends) != len(legs) - 1:
        need = f"{len(legs)} legs are joined by {_bends(len(legs) - 1)}"
        collector.value(("section", "bends"), f"has {_bends(len(bends))}", need)
    if legs:
        _check_hole_legs(_list(section, "holes"), len(legs), collector)
        _check_leg_tolerances(raw.get("tolerances"), len(legs), collector)
    order = _list(raw, "order")
    if bends and order:
        check_order(order, len(bends), collector)
    if bends:
        _check_flanges(bends, order, collector)


def _bends(count: int) -> str:
    return f"{count} bend" if count == 1 else f"{count} bends"


def _list(mapping: Mapping[str, Any], key: str) -> list[Any]:
    value = mapping.get(key)
    return value if isinstance(value, list) else []


def _check_hole_legs(holes: list[Any], legs: int, collector: FaultCollector) -> None:
    for index, hole in enumerate(holes):
        leg = hole.get("leg") if isinstance(hole, dict) else None
        if isinstance(leg, int) and leg > legs:
            steps: Steps = ("section", "holes", index, "leg")
            collector.value(steps, f"there is no leg {leg}", f"legs are numbered 1 to {legs}")


def _check_leg_tolerances(tolerances: Any, legs: int, collector: FaultCollector) -> None:
    given = tolerances.get("legs") if isinstance(tolerances, dict) else None
    if isinstance(given, list) and len(given) != legs:
        fits = f"give one for all legs or a list of {legs}"
        collector.value(("tolerances", "legs"), f"has {counted(len(given))}", fits)


def check_order(order: list[Any], bends: int, collector: FaultCollector) -> None:
    """That an order names each bend once."""
    if not all(isinstance(bend, int) for bend in order):
        return
    fits = f"name each of the bends 1 to {bends} once" if bends > 1 else "it is [1]"
    told = set(order)
    if len(told) < len(order):
        collector.value(("order",), "names a bend twice", fits)
    elif unknown := sorted(told - set(range(1, bends + 1))):
        collector.value(("order",), f"names bend {unknown[0]}, which is not there", fits)
    elif len(order) < bends:
        collector.value(("order",), "leaves a bend out", fits)


def _check_flanges(bends: list[Any], order: list[Any], collector: FaultCollector) -> None:
    """A bend gauged on a flange: that the flange is another bend's, and is there by then."""
    on = {number: flange for number, bend in enumerate(bends, start=1) if (flange := _flange_of(bend)) is not None}
    whole = [bend for bend in order if isinstance(bend, int)]
    for number, flange in on.items():
        steps: Steps = ("section", "bends", number - 1, "gauge", "flange")
        if flange > len(bends):
            collector.value(steps, f"there is no bend {flange}", f"bends are numbered 1 to {len(bends)}")
        elif flange == number:
            collector.value(steps, "is the bend itself, whose flange is not there yet", "name another bend, or an edge")
        elif _round(number, on):
            collector.value(steps, "goes in a circle back to this bend", "gauge one of them on an edge")
        elif {number, flange} <= set(whole) and whole.index(flange) > whole.index(number):
            collector.value(steps, f"bend {flange} comes later in `order`", "name an earlier bend, or an edge")


def _flange_of(bend: Any) -> int | None:
    gauge = bend.get("gauge") if isinstance(bend, dict) else None
    flange = gauge.get("flange") if isinstance(gauge, dict) else None
    return flange if isinstance(flange, int) and not isinstance(flange, bool) and flange > 0 else None


def _round(number: int, on: Mapping[int, int]) -> bool:
    at = on.get(number)
    for _ in on:
        if at is None or at == number:
            break
        at = on.get(at)
    return at == number


def check_shop_names(raw: Mapping[str, Any], shop: Shop, collector: FaultCollector) -> None:
    """That material, machines, handler and box are the shop's."""
    check_name(raw.get("material"), shop.materials, steps=("material",), table="materials", collector=collector)
    check_machines(raw.get("machine"), shop.machines, collector)
    check_name(raw.get("handler"), shop.handlers, steps=("handler",), table="handlers", collector=collector)
    packing = raw.get("packing")
    if isinstance(packing, dict):
        check_name(packing.get("box"), shop.boxes, steps=("packing", "box"), table="boxes", collector=collector)


def check_machines(given: Any, known: Collection[str], collector: FaultCollector) -> None:
    """That every machine named is the shop's, none twice; any stands alone."""
    if not isinstance(given, list):
        check_name(given, (*known, ANY), steps=("machine",), table="machines", collector=collector)
        return
    for index, name in enumerate(given):
        steps: Steps = ("machine", index)
        if name == ANY:
            if len(given) > 1:
                collector.value(steps, "'any' stands beside other names", "write machine: any, or names only")
        elif name in given[:index]:
            collector.value(steps, f"{shown(name)} is named twice", "name each machine once")
        else:
            check_name(name, known, steps=steps, table="machines", collector=collector)


def check_name(given: Any, known: Collection[str], *, steps: Steps, table: str, collector: FaultCollector) -> None:
    """That a name stands in a table of the shop, else the nearest one that does."""
    if isinstance(given, str) and given not in known:
        collector.value(steps, f"{shown(given)} is not in the shop's {table}", name_fits(given[:100], known))
