"""Steps, machines and handlers for the tests of this room."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from flangewise.clearance import ToolStack
from flangewise.findings import Finding
from flangewise.part import WantedBend
from flangewise.punch_die import BendWish, Mounting, PunchDie, Stock, Tooling, offer, place_stations
from flangewise.sequence import FoldedSection, Gauging, Step
from flangewise.setup import PlannedHit, Setup, WorkCentre, Workpiece, set_up
from flangewise.setup.work import Work
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
        before=FoldedSection(BLANK, ()),
        after=FoldedSection(BLANK, ()),
    )
    return replace(plain, **changes)


def chosen(one: PunchDie | None = None, *, turned: bool = False, **more: Any) -> tuple[PlannedHit, ...]:
    """The hits of one step with its pair; what is not said of the step is as in `step`."""
    tolerance = more.pop("tolerance_deg", None)
    bend = WantedBend(more.pop("bend", 1), more.pop("finished_turn_deg", 90.0))
    hits = Mounting(one or pair(), turned).numbered
    own = step(**more)
    return tuple(PlannedHit(1 + nth, own, bend, each, tolerance, is_second=nth > 0) for nth, each in hits)


def made(*steps: tuple[PlannedHit, ...], on: Machine | None = None, by: Handler | None = None, **more: Any) -> Setup:
    """The set-up of steps for a part of 2 mm, 180 long."""
    hits = [hit for each in steps or (chosen(),) for hit in each]
    numbered = [replace(hit, number=number) for number, hit in enumerate(hits, start=1)]
    centre = {name: more.pop(name) for name in ("quantity", "gap_mm", "short_mm") if name in more}
    return set_up(numbered, piece(**more), WorkCentre(on or machine(), by or handler(), **centre))


def hit(one: tuple[PlannedHit, ...] | None = None, nth: int = 0) -> PlannedHit:
    """A hit by itself."""
    return replace((one or chosen())[nth], number=1)


def piece(**more: Any) -> Workpiece:
    """A part of 2 mm, 180 long."""
    return Workpiece(**({"length_mm": 180.0, "thickness_mm": 2.0} | more))


def work(on: Machine | None = None, by: Handler | None = None, **more: Any) -> Work:
    """What a part's hits share, its one station in the middle of the bed."""
    brake = on or machine()
    stations = place_stations([Mounting(pair())], machine=brake, length_mm=180.0)
    return Work(piece(**more), WorkCentre(brake, by or handler()), stations)


def codes(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.code for finding in findings}


def value(findings: tuple[Finding, ...], code: str, name: str) -> Any:
    (found,) = [each for each in findings if each.code == code]
    return dict(found.phrase.values)[name]
