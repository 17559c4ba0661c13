"""Tools, machines and wishes for the tests of this room, made small; and the built-in shop, read once."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from flangewise.findings import Finding
from flangewise.punch_die import BendWish, Pair, PunchDie, Stock, Tooling, offer
from flangewise.punch_die.judge import formed_alike, judge as ranked
from flangewise.shop import Machine, Shop, load_shop


@cache
def shop() -> Shop:
    """The built-in example shop with the tables tools are chosen from."""
    return load_shop(None, ["materials", "punches", "dies", "machines"])


def machine(name: str = "long-1450", **changes: Any) -> Machine:
    """A machine of the example shop, with some fields changed."""
    return shop().machines[name].model_copy(update=changes)


def tooling(name: str = "long-1450", **changes: Any) -> Tooling:
    """All tools of the example shop in one of its machines."""
    return Tooling.of(shop(), machine(name, **changes))


def stock(material: str = "DC01", thickness_mm: float = 2.0, **more: Any) -> Stock:
    """A sheet of a material of the example shop."""
    return Stock(shop().materials[material], thickness_mm, **more)


def offers(wish: BendWish, sheet: Stock | None = None, tools: Tooling | None = None) -> tuple[PunchDie, ...]:
    """What is offered for a wish; a 2 mm sheet of DC01 and the long machine unless told otherwise."""
    return offer(wish, sheet or stock(), tooling=tools or tooling())


def judge(pairs: Sequence[Pair], wish: BendWish, sheet: Stock, *, tooling: Tooling) -> tuple[PunchDie, ...]:
    """Pairs formed and judged as the offers of a shop are, best first."""
    return ranked(formed_alike(pairs, wish, sheet, tooling=tooling), wish, sheet, tooling=tooling)


def codes(made: PunchDie | tuple[Finding, ...]) -> set[str]:
    """The codes of the findings of a pair."""
    findings = made if isinstance(made, tuple) else made.all_findings
    return {finding.code for finding in findings}


def finding(made: PunchDie, code: str) -> Finding:
    """The one finding of a code."""
    (found,) = [each for each in made.all_findings if each.code == code]
    return found


def value(made: PunchDie, code: str, name: str) -> Any:
    """A value that the finding of a code carries."""
    return dict(finding(made, code).phrase.values)[name]
