"""A laid-out part and its offered tools as the question the search answers."""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from flangewise.bend import AskedOnce
from flangewise.clearance import Body, ToolStack, outline_of
from flangewise.geometry import Chain, Outline
from flangewise.jobs.job import Job
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.punch_die import Mounting, Pair, PunchDie, may_stand_beside as could_stand_beside, stands_on_mm
from flangewise.sequence import (
    Asked,
    Backgauge,
    Costs,
    Hit,
    HitTime,
    HoldRule,
    Operation,
    SearchLimits,
    SectionProblem,
    StopTravel,
    ToolOption,
)
from flangewise.setup import WorkCentre, around_s, hit_times
from flangewise.shop import Handler, Machine

# Setting a punch turned costs a look and a second thought, no more than that, in seconds a part.
TURNED_PRICE = 0.5
# What a unit of a pair's rank is worth in seconds a part (judgement): the next wider or narrower V costs four.
RANK_PRICE = 16.0
KG_PER_MM3 = 1e-9
# So many choices of tools are kept for other parts of the same sheet, machine and handler; of so many of these.
MOST_OPTIONS, MOST_SHEETS = 1024, 16
# And so many lists of them.
MOST_OFFERED = 256
# So many pairs of tools are asked first whether they stand beside each other.
FEW_BESIDE = 30
# Arcs of tools are drawn out this finely: a fifth of the tolerance for contact.
ARC_ERROR_MM = 0.01
# Sums of lengths that are the same on paper differ by less.
ROUNDING_MM = 1e-6


def chain_of(pattern: FlatPattern) -> Chain:
    """The section of a blank as a chain of flats and zones."""
    return Chain(
        flats_mm=pattern.flats_mm,
        zones_mm=tuple(zone.allowance.allowance_mm for zone in pattern.zones),
        turns_deg=tuple(zone.signed_turn_deg for zone in pattern.zones),
        radii_mm=tuple(zone.inside_radius_mm for zone in pattern.zones),
        thickness_mm=pattern.thickness_mm,
    )


def mountings(pairs: Sequence[PunchDie], turned: bool | None = None) -> tuple[Mounting, ...]:
    """Each pair put in both ways, where the two ways differ; or only the way that is asked for."""
    ways = (False, True) if turned is None else (turned,)
    return tuple(Mounting(pair, way) for pair in pairs for way in (ways if pair.has_two_ways else (False,)))


def problem_of(job: Job, options: Mapping[int, Sequence[Mounting]], *, timed: bool = True) -> SectionProblem:
    """The search's question for a part, with the tool choices offered by bend; not `timed`: what of it no price is
    asked of."""
    part, pattern, centre = job.part, job.pattern, job.centre
    assert pattern is not None
    zones: dict[int, tuple[int, ...]] = {}
    for index, zone in enumerate(pattern.zones):
        zones[zone.bend] = (*zones.get(zone.bend, ()), index)
    operations = tuple(
        Operation(
            str(bend),
            indices,
            _options(
                tuple(each.untold for each in options[bend]),
                centre.machine,
                centre.handler,
                pattern.thickness_mm,
                math.ldexp(1.0, math.frexp(pattern.developed_mm)[1]) if timed else None,
            ),
        )
        for bend, indices in zones.items()
    )
    length_mm = part.section.length_mm
    kg_per_mm = job.material.density_kg_per_m3 * KG_PER_MM3 * pattern.thickness_mm * length_mm
    numbers = list(zones)
    beside = timed and may_stand_beside(job, [options[bend] for bend in zones])
    return SectionProblem(
        chain=chain_of(pattern),
        operations=operations,
        costs=costs_of(centre, beside=beside, grips_s=job.least_grips_s),
        gauge=gauge_of(centre.machine),
        hold=hold_of(centre.handler, kg_per_mm=kg_per_mm),
        stop_travel=StopTravel(
            centre.machine.stop_speed_mm_per_s,
            centre.machine.acceleration_mm_per_s2,
            centre.handler.next_stop_s,
            centre.handler.shift_s if centre.has_room_beside(length_mm) else centre.anew_s,
        ),
        order=tuple(numbers.index(bend) for bend in part.order) if part.order else None,
        asked=_asked(part, zones),
        marked_face_good={"marked": True, "other": False}.get(part.good_face),
        check_exits=True,
        side_exit_allowed=True,
        limits=SearchLimits(watch=job.watch),
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


@lru_cache(maxsize=MOST_OFFERED)
def _options(
    choices: tuple[Mounting, ...], machine: Machine, handler: Handler, sheet_mm: float, reach_mm: float | None
) -> tuple[ToolOption, ...]:
    """The choices of tools of a bend: the same for all that are offered the same, on every blank of about that length.

    `reach_mm`: the next power of two: that a leg may be slowed is told of some where it never is. None: not timed.
    """
    return _choices_of(machine, handler, sheet_mm, reach_mm)(choices)


@lru_cache(maxsize=MOST_SHEETS)
def _choices_of(
    machine: Machine, handler: Handler, sheet_mm: float, reach_mm: float | None
) -> AskedOnce[Mounting, ToolOption]:
    """The choices that a machine offers for a sheet, each worked out once whatever it is offered with."""

    def options(choices: Sequence[Mounting]) -> list[ToolOption]:
        hits = [[hit for _, hit in choice.numbered] for choice in choices]
        times: Iterator[HitTime | None] = itertools.repeat(None)
        if reach_mm is not None:
            pairs = [hit.pair for each in hits for hit in each]
            times = hit_times(pairs, machine, handler, sheet_mm=sheet_mm, reach_mm=reach_mm)
        return [
            ToolOption(tuple(hit_of(hit, machine, next(times)) for hit in each), option_price(choice))
            for choice, each in zip(choices, hits, strict=True)
        ]

    return AskedOnce(options, most=MOST_OPTIONS)


def option_price(choice: Mounting) -> float:
    """What a pair costs as it is put in, besides its hits."""
    return pair_price(choice.pair) + (TURNED_PRICE if choice.turned else 0.0)


def pair_price(pair: PunchDie) -> float:
    """What a pair's rank is worth against handling: a caution is half a unit of rank, and weighs like a turn-over."""
    return RANK_PRICE * pair.cost


def hit_of(mounting: Mounting, machine: Machine, time: HitTime | None) -> Hit:
    """One stroke with a pair as it is put in."""
    pair = mounting.pair
    stack = tool_stack(pair.tools, machine, turned=mounting.turned)
    formed_mm = pair.formed_radius_mm or 0.0
    if pair.kind == "offset":
        return Hit(stack, 0.0, formed_mm, "offset", time)
    if pair.kind == "flatten":
        return Hit(stack, 180.0, formed_mm, "press", time)
    loaded_mm = (pair.air.effective_radius_mm or 0.0) if pair.air is not None else formed_mm
    return Hit(stack, pair.loaded_turn_deg or 0.0, loaded_mm, "swing", time)


def may_stand_beside(job: Job, choices: Sequence[Sequence[Mounting]]) -> bool:
    """Whether any two tools of different bends could stay mounted together; a hem's own are taken to.

    All stations of a plan stand beside each other or none do: where no two can, every change costs what it does then.
    """
    centre, length_mm = job.centre, job.part.section.length_mm
    if not centre.has_room_beside(length_mm):
        return False
    bends: dict[str, tuple[Mounting, set[int]]] = {}
    for bend, each in enumerate(choices):
        for one in each:
            if len(one.numbered) > 1:
                return True
            bends.setdefault(one.name, (one, set()))[1].add(bend)
    # As a rule some of the first can; only where none does are those left out that find no room with any other.
    few = itertools.islice(itertools.combinations(bends.values(), 2), FEW_BESIDE)
    if any(len(own | others) > 1 and stand_beside(job, one, other) for (one, own), (other, others) in few):
        return True
    widths_mm = {
        name: stands_on_mm(one, machine=centre.machine, length_mm=length_mm, short_mm=centre.short_mm)
        for name, (one, _) in bends.items()
    }
    room_mm = centre.machine.bed_length_mm - centre.gap_mm - min(widths_mm.values())
    fitting = [bends[name] for name, width_mm in widths_mm.items() if width_mm <= room_mm + ROUNDING_MM]
    return any(
        len(own | others) > 1 and stand_beside(job, one, other)
        for (one, own), (other, others) in itertools.combinations(fitting, 2)
    )


def stand_beside(job: Job, one: Mounting, other: Mounting) -> bool:
    """Whether two tools could stay mounted together."""
    centre, length_mm = job.centre, job.part.section.length_mm
    return could_stand_beside(
        one, other, machine=centre.machine, length_mm=length_mm, short_mm=centre.short_mm, gap_mm=centre.gap_mm
    )


def costs_of(centre: WorkCentre, *, beside: bool, grips_s: float = 0.0) -> Costs:
    """What moves, tools and wishes cost in seconds a part, the handler's allowance and the set-up's share included.

    Going to other tools is a shift along the bed where two stations stand beside each other, and each tool of a station
    is then put in; where they do not, the part is put down and fetched again, and what was not there is put in. Where
    two could stand beside each other (`beside`) it is the less of both: which it is only all stations of a plan say.
    `grips_s`: what a gripper's grips take at least.
    """
    handler, machine = centre.handler, centre.machine
    share = 1 + handler.allowance_share
    one_s, both_s = (centre.change_s(put_in, beside=beside) for put_in in (1, 2))
    first_stop_s = handler.next_stop_s
    return Costs(
        base=share * (around_s(handler) - first_stop_s)
        + machine.set_up_s / centre.quantity
        + 2 * centre.mount_s
        + grips_s,
        share=share,
        hit=share * (handler.gauge_s + handler.next_stop_s),
        turn_over_bed=share * handler.turn_over_bed_s,
        turn_over_front_back=share * handler.turn_over_front_s,
        turn_in_plane=share * handler.turn_s,
        tilt_onto_face=share * handler.seconds_of("tilt"),
        rehandle=share * max(handler.withdraw_s + handler.insert_s - handler.next_stop_s, 0.0),
        station_change=max(2 * one_s - both_s, 0.0),
        tool_change=both_s - one_s,
        stop_change=0.0,
        gauge_flange=handler.formed_gauge_wish_s,
        gauge_inclined=handler.sloped_gauge_wish_s,
        gauge_past_bends=handler.past_bend_wish_s,
        gauge_unwanted=handler.loose_leg_wish_s,
        side_exit=share * handler.side_exit_s,
        mark=handler.mark_wish_s,
        tilt=None if handler.tilt_out_s is None else share * handler.tilt_out_s,
        stands_beside=beside,
    )


def hold_of(handler: Handler, *, kg_per_mm: float) -> HoldRule:
    """How the handler wants the part to lie."""
    return HoldRule(
        kg_per_mm=kg_per_mm,
        least_mm=handler.least_hold_mm,
        most_behind_nm=handler.most_behind_nm,
        behind_wish_s=handler.behind_wish_s,
        small_wish_s=handler.small_hold_wish_s,
    )


def gauge_of(machine: Machine) -> Backgauge:
    """The reach of the machine's stops and the shape of their finger."""
    return Backgauge(
        x_min_mm=machine.stop_x_mm[0],
        x_max_mm=machine.stop_x_mm[1],
        r_min_mm=machine.stop_r_mm[0],
        r_max_mm=machine.stop_r_mm[1],
        finger_mm=outline_of(machine.finger_outline_mm.drawn_mm()),
    )


@lru_cache(maxsize=1024)
def tool_stack(pair: Pair, machine: Machine, *, turned: bool = False) -> ToolStack:
    """The bodies of a pair set up in a machine, as the sheet meets them: one stack, whatever is bent with it.

    The ram carries the punch by its top, the bed carries the die by its bottom. An offset pair is turned as a pair.
    Raises ValueError for an ideal pair, which has no bodies.
    """
    punch, die = pair.punch, pair.die
    if punch is None or die is None:
        raise ValueError(f"{pair.name} has no bodies")
    is_offset = pair.kind == "offset"
    bodies = (
        _body("punch", punch.outline_turned if turned else punch.outline_mm, with_ram=True),
        _body("ram", machine.ram_outline_mm.shifted(0.0, punch.height_mm), with_ram=True),
        _body("die", die.outline_turned if turned and is_offset else die.outline_mm),
        _body("bed", machine.bed_outline_mm.shifted(0.0, -die.height_mm)),
    )
    step_mm = die.offset_mm or 0.0
    return ToolStack(
        name=f"{pair.name}{' turned' if turned else ''}",
        punch=punch.name,
        die=die.name,
        opening_mm=pair.opening_mm or 0.0,
        shoulder_radius_mm=pair.shoulder_radius_mm or 0.0,
        bodies=bodies,
        turned=turned,
        open_limit_mm=machine.daylight_mm - punch.height_mm - die.height_mm,
        levels_mm=((-step_mm, 0.0) if turned else (0.0, -step_mm)) if is_offset else (0.0, 0.0),
    )


@lru_cache(maxsize=256)
def _body(name: str, outline: Outline, *, with_ram: bool = False) -> Body:
    return Body(name, outline_of(outline.drawn_mm(ARC_ERROR_MM)), with_ram)
