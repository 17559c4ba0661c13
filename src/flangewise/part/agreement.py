"""Whether the entries of a part file agree with each other, told even where some single value is wrong."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from flangewise.faults import name_fits
from flangewise.part.fields import shown
from flangewise.part.told import Steps, Teller


def check_counts(raw: Mapping[str, Any], teller: Teller) -> None:
    """As many bends as the legs need, tolerances a leg, holes in legs that exist, an order of all bends."""
    section = raw.get("section")
    if not isinstance(section, dict):
        return
    legs, bends = _list(section, "legs"), _list(section, "bends")
    if legs and bends and len(bends) != len(legs) - 1:
        need = f"{len(legs)} legs are joined by {_bends(len(legs) - 1)}"
        teller.value(("section", "bends"), f"has {_bends(len(bends))}", need)
    if legs:
        _check_hole_legs(_list(section, "holes"), len(legs), teller)
        _check_leg_tolerances(raw.get("tolerances"), len(legs), teller)
    if bends and (order := _list(raw, "order")):
        _check_order(order, len(bends), teller)


def _bends(count: int) -> str:
    return f"{count} bend" if count == 1 else f"{count} bends"


def _list(mapping: Mapping[str, Any], key: str) -> list[Any]:
    value = mapping.get(key)
    return value if isinstance(value, list) else []


def _check_hole_legs(holes: list[Any], legs: int, teller: Teller) -> None:
    for index, hole in enumerate(holes):
        leg = hole.get("leg") if isinstance(hole, dict) else None
        if isinstance(leg, int) and leg > legs:
            steps: Steps = ("section", "holes", index, "leg")
            teller.value(steps, f"there is no leg {leg}", f"legs are numbered 1 to {legs}")


def _check_leg_tolerances(tolerances: Any, legs: int, teller: Teller) -> None:
    given = tolerances.get("legs") if isinstance(tolerances, dict) else None
    if isinstance(given, list) and len(given) != legs:
        fits = f"give one for all legs or a list of {legs}"
        teller.value(("tolerances", "legs"), f"has {len(given)} {'entry' if len(given) == 1 else 'entries'}", fits)


def _check_order(order: list[Any], bends: int, teller: Teller) -> None:
    if not all(isinstance(bend, int) for bend in order):
        return
    fits = f"name each of the bends 1 to {bends} once" if bends > 1 else "it is [1]"
    told = set(order)
    if len(told) < len(order):
        teller.value(("order",), "names a bend twice", fits)
    elif unknown := sorted(told - set(range(1, bends + 1))):
        teller.value(("order",), f"names bend {unknown[0]}, which is not there", fits)
    elif len(order) < bends:
        teller.value(("order",), "leaves a bend out", fits)


def check_name(given: Any, known: Collection[str], *, steps: Steps, table: str, teller: Teller) -> None:
    """That a name stands in a table of the shop, else the nearest one that does."""
    if isinstance(given, str) and given and given not in known:
        teller.value(steps, f"{shown(given)} is not in the shop's {table}", name_fits(given[:100], known))
