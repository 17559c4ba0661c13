"""Steps, machines and handlers for the tests of this room."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from flangewise.clearance import ToolStack
from flangewise.findings import Finding
from flangewise.punch_die import BendWish, Mounting, PunchDie, Stock, Tooling, offer, place_stations
from flangewise.sequence import Gauging, Step
from flangewise.setup import Chosen, Setup, set_up
from flangewise.setup.hit import Hit, Work
from flangewise.shop import Handler, Machine, Shop, load_shop

STACK = ToolStack("stack", "punch", "die", 12.0, 1.2, ())
# A flat blank 2 mm thick, 20 mm behind the bend line and 80 in front of it.
BLANK = ((-20.0, 0.0), (80.0, 0.0), (80.0, 2.0), (-20.0, 2.0))


@cache
def shop() -> Shop:
    return load_shop(None, ["materials", "punches", "dies", "machines", "handlers"])


def machine(name: str = "bench-310", **changes: Any) -> Machine:
    return shop().machines[name].model_copy(update=changes)


def handler(name: str = "operator", **changes: Any) -> Handler:
    return shop().handlers[name].model_copy(update=changes)


@cache
def pair(kind: str = "bend", thickness_mm: float = 2.0, material: str = "DC01", **wish: Any) -> PunchDie:
    """The best offer for a bend of 90, a hem or an offset of 4 mm."""
    turns = {"bend": 90.0, "hem": 180.0, "offset": 90.0}
    asked = BendWish(1, turns[kind], kind=kind, offset_mm=4.0 if kind == "offset" else None, **wish)  # type: ignore[arg-type]
    return offer(asked, Stock(shop().materials[material], thickness_mm), tooling=Tooling.of(shop(), machine()))[0]


def step(**changes: Any) -> Step:
    """A step of an order: the blank gauged on its start, opening 10 mm; a straight pull needs what is measured."""
    measured = changes.get("open_height_mm", 10.0)
    changes = {"least_opening_mm": 2.0 if measured is None else measured, **changes}
    plain = Step(
        operation=0,
        label="1",
        option=0,
        stacks=(STACK,),
        marked_up=True,
        behind="start",
        gauged=Gauging("start", None, 20.0, 0.0, 0.0, 0.0),
        moves=(),
        tool_changed=False,
        done=0,
        cost=1.0,
        clearance_mm=5.0,
        lift_mm=12.0,
        open_height_mm=10.0,
        opening_reason="this-bend",
        opening_piece=None,
        side_exit=False,
        least_opening_mm=2.0,
        reach_mm=80.0,
        hold=None,
        wishes_s=(),
        before_mm=BLANK,
        after_mm=BLANK,
    )
    return replace(plain, **changes)


def chosen(*pairs: PunchDie, turned: bool = False, **more: Any) -> Chosen:
    """One step with its pairs; what is not said of the step is as in `step`."""
    own = {name: more.pop(name) for name in ("swing_mm", "tolerance_deg", "finished_turn_deg", "bends") if name in more}
    values = {"bends": (1,), "finished_turn_deg": 90.0, "swing_mm": 80.0} | own
    return Chosen(step=step(**more), pairs=pairs or (pair(),), turned=turned, **values)


def made(*steps: Chosen, on: Machine | None = None, by: Handler | None = None, **more: Any) -> Setup:
    """The set-up of steps for a part of 2 mm, 180 long."""
    values = {"length_mm": 180.0, "thickness_mm": 2.0} | more
    return set_up(steps or (chosen(),), machine=on or machine(), handler=by or handler(), **values)


def hit(one: Chosen | None = None, nth: int = 0) -> Hit:
    """A hit by itself."""
    step_of = one or chosen()
    return Hit(1, step_of, step_of.pairs[nth], Mounting(step_of.pairs[nth], step_of.turned), is_second=nth > 0)


def work(on: Machine | None = None, by: Handler | None = None, **more: Any) -> Work:
    """What a part's hits share, its one station in the middle of the bed."""
    brake = on or machine()
    stations = place_stations([Mounting(pair())], machine=brake, length_mm=180.0)
    values = {
        "length_mm": 180.0,
        "thickness_mm": 2.0,
        "mass_kg": 0.0,
        "tolerance_mm": None,
        "zone_bends": (),
        "stations": stations,
    }
    return Work(machine=brake, handler=by or handler(), **(values | more))


def codes(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.code for finding in findings}


def value(findings: tuple[Finding, ...], code: str, name: str) -> Any:
    (found,) = [each for each in findings if each.code == code]
    return dict(found.phrase.values)[name]
