"""What `plan --why` tells of a panel: what its cost is made of, the next best orders, the other tools looked at."""

from __future__ import annotations

from typing import Any

from flangewise.commands.output import NOTHING, told_table
from flangewise.units import trimmed
from flangewise.words import word


def why_told(reasons: dict[str, Any]) -> str:
    """The reasons as tables, what cannot be priced in a sentence."""
    blocks = []
    if reasons["prices"]:
        blocks.append(told_table("plan.panel.prices", [_price(each) for each in reasons["prices"]], "mm"))
    orders = [{**each, "order": ", ".join(map(str, each["order"]))} for each in reasons["orders"]]
    blocks.append(told_table("plan.other-orders", orders, "mm") if orders else word("plan.no-others"))
    if reasons["made"]:
        blocks.append(word("plan.orders-made").format(made=reasons["made"], cannot=reasons["cannot"]))
    if reasons["freed"] is not None:
        blocks.append(word("plan.order-freed").format(cost=trimmed(reasons["freed"], 2)))
    if reasons["tools"]:
        blocks.append(told_table("plan.panel.other-tools", [_tools(each) for each in reasons["tools"]], "mm"))
    return "\n\n".join(blocks)


def _price(each: dict[str, Any]) -> dict[str, Any]:
    """A price with what it is for, and the wishes in it by name."""
    told = {key: str(value) for key, value in each.items() if key in ("step", "station", "rows")}
    wishes = [f"{word(f'wish.{name}')} {trimmed(seconds, 1)} s" for name, seconds in each["wishes_s"].items()]
    what = word(f"plan.price-{each['what']}").format(**told)
    return {"what": what, "cost": each["cost_s"], "wishes": ", ".join(wishes) or NOTHING}


def _tools(each: dict[str, Any]) -> dict[str, Any]:
    none = word("plan.none-offered")
    cost = NOTHING if each["cost"] is None else trimmed(each["cost"], 2)
    return {
        "tools": each["tools"],
        "cost": cost,
        "more": none if each["more"] is None else f"+{trimmed(each['more'], 2)}",
    }
