"""A laid-out part and its offered tools as the question the search answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flangewise.geometry import Chain
from flangewise.jobs.stacks import has_two_ways, tool_stack
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.punch_die import PunchDie
from flangewise.sequence import Asked, Costs, Gauge, Hit, Operation, SectionProblem, ToolOption
from flangewise.shop import Handler, Machine

# Setting a punch turned costs a look and a second thought, no more than that.
TURNED_PRICE = 0.5
# What a unit of a pair's rank is worth in the prices of handling (judgement).
RANK_PRICE = 16.0


@dataclass(frozen=True)
class Choice:
    """A pair for one bend and whether it is set turned: what a tool option of the search stands for."""

    pair: PunchDie
    turned: bool


def chain_of(pattern: FlatPattern) -> Chain:
    """The section of a blank as a chain of flats and zones."""
    return Chain(
        flats_mm=pattern.flats_mm,
        zones_mm=tuple(zone.width_mm for zone in pattern.zones),
        turns_deg=tuple(zone.signed_turn_deg for zone in pattern.zones),
        radii_mm=tuple(zone.inside_radius_mm for zone in pattern.zones),
        thickness_mm=pattern.thickness_mm,
    )


def choices(pairs: Sequence[PunchDie], turned: bool | None = None) -> tuple[Choice, ...]:
    """Each pair set both ways, where the two ways differ; or only the way that is asked for."""
    ways = (False, True) if turned is None else (turned,)
    return tuple(Choice(pair, way) for pair in pairs for way in (ways if has_two_ways(pair) else (False,)))


def problem_of(
    part: Part,
    pattern: FlatPattern,
    options: Mapping[int, Sequence[Choice]],
    *,
    machine: Machine,
    handler: Handler,
    least_cost: Mapping[int, float] | None = None,
) -> SectionProblem:
    """The search's question for a part, with the tool choices offered by bend.

    `least_cost` is the price of each bend's best pair, above which the others are priced; left out, the best of
    those offered.
    """
    zones = _zones_by_bend(pattern)
    base = least_cost or {bend: least_cost_of([choice.pair for choice in options[bend]]) for bend in zones}
    operations = tuple(
        Operation(str(bend), indices, tuple(_option(choice, base[bend], machine) for choice in options[bend]))
        for bend, indices in zones.items()
    )
    numbers = list(zones)
    return SectionProblem(
        chain=chain_of(pattern),
        operations=operations,
        costs=costs_of(handler),
        gauge=gauge_of(machine),
        order=tuple(numbers.index(bend) for bend in part.order) if part.order else None,
        asked=_asked(part, zones),
        check_exits=True,
        side_exit_allowed=True,
    )


def _asked(part: Part, zones: Mapping[int, tuple[int, ...]]) -> tuple[Asked, ...]:
    """What the part's bends say of face and gauging, in the order of the operations; nothing where none says any."""
    bends = {bend.number: bend for bend in part.section.bends}
    if all(bend.gauge is None and bend.marked_up is None for bend in bends.values()):
        return ()
    return tuple(
        Asked(
            bends[bend].marked_up,
            gauge.on if (gauge := bends[bend].gauge) is not None else None,
            zones[gauge.bend][0] if gauge is not None and gauge.bend is not None else None,
        )
        for bend in zones
    )


def _zones_by_bend(pattern: FlatPattern) -> dict[int, tuple[int, ...]]:
    found: dict[int, tuple[int, ...]] = {}
    for index, zone in enumerate(pattern.zones):
        found[zone.bend] = (*found.get(zone.bend, ()), index)
    return found


def _option(choice: Choice, least_cost: float, machine: Machine) -> ToolOption:
    extra = pair_price(choice.pair) - least_cost
    return ToolOption(_hits(choice, machine), extra + (TURNED_PRICE if choice.turned else 0.0))


def least_cost_of(pairs: Sequence[PunchDie]) -> float:
    """The price of the best of some pairs."""
    return min(pair_price(pair) for pair in pairs)


def pair_price(pair: PunchDie) -> float:
    """What a pair's rank is worth against handling: a caution is half a unit of rank, and weighs like a turn-over."""
    return RANK_PRICE * pair.cost


def _hits(choice: Choice, machine: Machine) -> tuple[Hit, ...]:
    pair = choice.pair
    first = _hit(pair, machine, turned=choice.turned)
    return (first,) if pair.then is None else (first, _hit(pair.then, machine, turned=False))


def _hit(pair: PunchDie, machine: Machine, *, turned: bool) -> Hit:
    stack = tool_stack(pair, machine, turned=turned)
    if pair.kind == "offset":
        return Hit(stack, 0.0, pair.formed_radius_mm or 0.0, "offset")
    if pair.kind == "flatten":
        return Hit(stack, 180.0, pair.formed_radius_mm or 0.0, "press")
    loaded_radius_mm = pair.air.effective_radius_mm if pair.air is not None else pair.formed_radius_mm
    return Hit(stack, pair.loaded_turn_deg or 0.0, loaded_radius_mm or 0.0, "swing")


def costs_of(handler: Handler) -> Costs:
    """What the handler's row says moves cost."""
    return Costs(
        hit=handler.hit_cost,
        turn_over_bed=handler.turn_over_bed_cost,
        turn_over_front_back=handler.turn_over_front_cost,
        turn_in_plane=handler.turn_cost,
        tool_change=handler.tool_change_cost,
        stop_change=handler.stop_change_cost,
        opening_per_mm=handler.opening_cost,
        gauge_flange=handler.formed_gauge_cost,
        side_exit=handler.side_exit_cost,
    )


def gauge_of(machine: Machine) -> Gauge:
    """The reach of the machine's stops and the shape of their finger."""
    finger = machine.finger.drawn_mm()
    return Gauge(
        x_min_mm=machine.stop_x_mm[0],
        x_max_mm=machine.stop_x_mm[1],
        r_min_mm=machine.stop_r_mm[0],
        r_max_mm=machine.stop_r_mm[1],
        finger_mm=tuple((float(across), float(up)) for across, up in finger),
    )
