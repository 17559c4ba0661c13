"""A laid-out panel and its offered tools as the question that the search of its order answers."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence

from flangewise.findings import refused
from flangewise.jobs.panel import PanelJob
from flangewise.jobs.panel_stops import fingers_of, side_wish_s, stopped_beside, stopped_by
from flangewise.jobs.problem import TURNED_PRICE, costs_of, hit_of, hold_of, mountings, pair_price
from flangewise.panel_order import (
    PanelOperation,
    PanelProblem,
    PanelShapes,
    PanelWay,
    PressedHit,
    RowRules,
    SpaceHit,
    SteppedHit,
    lie_of,
    operations_of,
    step_fits,
)
from flangewise.pattern import NoBlank, PanelBlank
from flangewise.punch_die import Mounting, PunchDie
from flangewise.records import dataclass, replace
from flangewise.sequence import Costs, SearchLimits, StopTravel, Watch
from flangewise.setup import WorkCentre, hit_times
from flangewise.shop import Shop

# So many pairs of tools that can make all bends are looked at (judgement: each more costs its geometry).
MOST_PAIRS = 3
# Of more operations than this each pair is looked at by itself, for all bends: with several at once tables grow large.
MANY = 8
# Putting one segment into a row, and what an ear takes besides, in seconds of a set-up (judgement).
SEGMENT_S, EAR_S = 12.0, 6.0
# A wish against each mm of a bend that its row leaves uncovered at an end, in seconds a part (judgement): the corner
# stays softer.
SHORT_WISH_S_PER_MM = 0.3
SAME_RADIUS_MM = 1e-6


@dataclass(frozen=True)
class ToolSet:
    """A blank with the pairs that make it: by the tools' names, of each bend that they may make.

    `shapes` are the blank's, shared by all that is asked of it.
    """

    shapes: PanelShapes
    pairs: Mapping[str, Mapping[int, PunchDie]]
    wish_s: float

    @property
    def blank(self) -> PanelBlank:
        """What is bent."""
        return self.shapes.blank


def centre_of(job: PanelJob, shop: Shop) -> WorkCentre:
    """What bends the panel."""
    own, part = shop.defaults, job.part
    handler = shop.handlers[part.handler or own.handler].at_best
    return WorkCentre(
        job.machine, handler, own.station_gap_mm, part.quantity or own.quantity, short_mm=own.end_short_mm
    )


def has_sound_blank(job: PanelJob, shop: Shop) -> bool:
    """Whether tools of this machine make a blank that nothing is refused of."""
    if job.blank is None or not all(job.offers.values()):
        return False
    try:
        return not refused(tool_sets(job, shop)[0].blank.findings)
    except NoBlank:
        return False


def tool_sets(job: PanelJob, shop: Shop) -> tuple[ToolSet, ...]:
    """The blanks worth a search, the one whose tools are liked best first: with the pairs that make all bends, and with
    the best of each bend; each with all these pairs that form its radii, or with one pair where there are many bends.

    Raises NoBlank where none of them makes a blank.
    """
    by_name = {bend: {pair.tools.name: pair for pair in each} for bend, each in job.offers.items()}
    own = {bend: pair for bend, pair in job.pairs.items() if pair is not None}
    # An offset has tools of its own, whatever bends the rest.
    bent = {bend: each for bend, each in by_name.items() if bend not in own or own[bend].kind != "offset"}
    steps = by_name.keys() - bent.keys()
    everywhere = set.intersection(*map(set, bent.values())) if bent else set()
    liked = sorted(everywhere, key=lambda name: (_wish_s([each[name] for each in bent.values()]), name))[:MOST_PAIRS]
    chosen = [{bend: bent[bend][name] if bend in bent else own[bend] for bend in by_name} for name in liked]
    chosen.append(own)
    names = dict.fromkeys([*liked, *(pair.tools.name for pair in own.values())])
    found: dict[tuple[float, ...], ToolSet] = {}
    told: NoBlank | None = None
    for pairs in chosen:
        radii = tuple(round(pair.formed_radius_mm or 0.0, 6) for pair in pairs.values())
        if radii in found:
            continue
        try:
            blank = job.blanks.of_pairs(job.wishes, pairs)
        except NoBlank as none:
            told = told or none
            continue
        made = {
            name: {
                bend: each[name] for bend, each in by_name.items() if name in each and _forms(each[name], pairs[bend])
            }
            for name in names
        }
        found[radii] = ToolSet(
            job.blanks.shapes.setdefault(id(blank), PanelShapes(blank)),
            {name: each for name, each in made.items() if each},
            _wish_s(list(pairs.values())),
        )
    every = list(found.values())
    if told is not None and not every:
        raise told
    # A blank that is refused is planned only where none is not.
    every = [tools for tools in every if not refused(tools.blank.findings)] or every
    if len(operations_of(every[0].blank)) > MANY and everywhere:
        every = [
            ToolSet(tools.shapes, {name: each} | stepped, _wish_s([*each.values(), *(own[bend] for bend in steps)]))
            for tools in every
            for stepped in [{name: each for name, each in tools.pairs.items() if steps & each.keys()}]
            for name, each in tools.pairs.items()
            if len(each) == len(bent)
        ]
    return tuple(sorted(every, key=lambda each: each.wish_s))


def _wish_s(pairs: Sequence[PunchDie]) -> float:
    return sum(pair_price(pair) for pair in pairs)


def _forms(pair: PunchDie, other: PunchDie) -> bool:
    """Whether a pair makes of a bend what another does."""
    return abs((pair.formed_radius_mm or 0.0) - (other.formed_radius_mm or 0.0)) < SAME_RADIUS_MM


def panel_problem(job: PanelJob, tools: ToolSet, shop: Shop, watch: Watch) -> PanelProblem:
    """The question for a blank and its tools, the rows left out; the ways that flatten hems come last."""
    blank, centre = tools.blank, centre_of(job, shop)
    operations = operations_of(blank)
    rules = _rules(blank, centre, shop)
    costs = _costs(centre, blank)
    ways: list[PanelWay] = []
    lying = {bend.number: bend.marked_up for bend in job.part.panel.bends if bend.marked_up is not None}
    for number, hits in enumerate(_mounted(operations, tools, centre)):
        ways += [
            replace(
                _way(hit, index, number, made),
                behind=stopped_by(hit),
                beside=stopped_beside(hit),
                side_wish_s=side_wish_s(hit),
                # The rows are those of both faces, whichever is asked for.
                wish_s=pair_price(made.pair) + (TURNED_PRICE if made.turned else 0.0)
                if all(lying.get(bend, hit.marked_up) == hit.marked_up for bend in hit.operation.bends)
                else math.inf,
            )
            for index, made, hit in hits
        ]
    ways = _with_hems(ways, centre)
    order = job.part.order
    return PanelProblem(
        blank=blank,
        operations=operations,
        ways=tuple(ways),
        rows=(),
        rules=rules,
        costs=costs,
        hold=hold_of(centre.handler, kg_per_mm=0.0),
        stop_travel=StopTravel(
            centre.machine.stop_speed_mm_per_s,
            centre.machine.acceleration_mm_per_s2,
            centre.handler.next_stop_s,
            centre.handler.shift_s,
        ),
        order=None if order is None else _wanted(order, operations),
        limits=SearchLimits(watch=watch),
    )


def _way(hit: SpaceHit, operation: int, mounting: int, made: Mounting) -> PanelWay:
    line_mm, up = hit.operation.zones[0].line_mm, hit.marked_up
    return PanelWay(
        operation=operation,
        mounting=mounting,
        parent_behind=hit.parent_behind,
        lie=lie_of(line_mm, marked_up=up, parent_behind=hit.parent_behind),
        hit=hit,
        tools=hit.tools,
        made=made,
        behind=frozenset(),
    )


def _with_hems(ways: Sequence[PanelWay], centre: WorkCentre) -> list[PanelWay]:
    """Ways with those that flatten hems after them, at stations of their own; each hem's knows which is its second."""
    first, seconds = list(ways), dict[object, PanelWay]()
    mountings: dict[str, int] = {}
    for at, way in enumerate(ways):
        then, hit = way.made.pair.then, way.hit
        if then is None:
            continue
        assert isinstance(hit, SpaceHit)
        made = Mounting(then)
        number = mountings.setdefault(made.name, max(each.mounting for each in ways) + 1 + len(mountings))
        turn_deg = way.made.pair.turn_deg or 0.0
        key = way.operation, way.parent_behind, number, turn_deg
        if key not in seconds:
            longest_mm = _longest_mm(hit.shapes.blank)
            sheet_mm = hit.shapes.blank.thickness_mm
            (time,) = hit_times([then], centre.machine, centre.handler, sheet_mm=sheet_mm, reach_mm=longest_mm)
            flattened = PressedHit(
                hit.shapes,
                hit.operation,
                parent_behind=way.parent_behind,
                tools=hit_of(made, centre.machine, time),
                bent_deg=turn_deg,
            )
            seconds[key] = replace(_way(flattened, way.operation, number, made), is_second=True)
        first[at] = replace(way, then=len(ways) + list(seconds).index(key))
    return [*first, *seconds.values()]


def _wanted(order: Sequence[int], operations: Sequence[PanelOperation]) -> tuple[int, ...]:
    """An order of bends as one of operations, each when its first bend comes."""
    made_by = {bend: place for place, each in enumerate(operations) for bend in each.bends}
    return tuple(dict.fromkeys(made_by[bend] for bend in order))


def _longest_mm(blank: PanelBlank) -> float:
    """No part of the blank is further from another, however it is turned."""
    return math.hypot(*blank.size_mm)


def stands_beside(blank: PanelBlank, centre: WorkCentre) -> bool:
    """Whether two stations find room beside each other, however the blank is turned between them."""
    return centre.has_room_beside(_longest_mm(blank))


def _costs(centre: WorkCentre, blank: PanelBlank) -> Costs:
    """Seconds a part; what is put in is counted with the stations, where they stand beside each other."""
    costs = costs_of(centre, beside=stands_beside(blank, centre))
    base_s = costs.base - 2 * centre.mount_s
    return replace(costs, base=base_s if stands_beside(blank, centre) else costs.base)


def _rules(blank: PanelBlank, centre: WorkCentre, shop: Shop) -> RowRules:
    """How rows stand, and a part's share of what they cost.

    Where two stations do not find room beside each other, each is put in anew whenever it is gone to.
    """
    longest_mm = _longest_mm(blank)
    t, own, beside = blank.thickness_mm, shop.defaults, stands_beside(blank, centre)
    radius_mm = max(zone.inside_radius_mm for zone in blank.zones)
    return RowRules(
        clear_mm=own.row_clear_mm,
        free_short_mm=own.end_short_mm / 2,
        beside_short_mm=own.row_short_thicknesses * t,
        near_mm=radius_mm + 2 * t + own.row_clear_mm,
        tool_s=centre.mount_s if beside else 0.0,
        segment_s=SEGMENT_S / centre.quantity,
        ear_s=EAR_S / centre.quantity,
        short_wish_s_per_mm=SHORT_WISH_S_PER_MM,
        change_s=centre.shift_s if beside else centre.anew_allowed_s + 2 * centre.mount_s,
        bed_mm=centre.machine.bed_length_mm if beside else math.inf,
        gap_mm=centre.gap_mm,
        part_mm=longest_mm,
        most_gap_mm=own.row_gap_thicknesses * t,
    )


def _mounted(
    operations: Sequence[PanelOperation], tools: ToolSet, centre: WorkCentre
) -> Iterator[list[tuple[int, Mounting, SpaceHit]]]:
    """Each pair of tools as it is put in, with the operations that it may make, in both poses."""
    shapes, blank, longest_mm = tools.shapes, tools.blank, _longest_mm(tools.blank)
    machine, handler = centre.machine, centre.handler
    fingers = fingers_of(machine, handler)
    for by_bend in tools.pairs.values():
        own = [
            (index, by_bend[operation.bends[0]])
            for index, operation in enumerate(operations)
            if all(bend in by_bend for bend in operation.bends)
        ]
        if not own:
            continue
        ways = [mountings([pair]) for _, pair in own]
        pairs = [pair for _, pair in own]
        times = list(hit_times(pairs, machine, handler, sheet_mm=blank.thickness_mm, reach_mm=longest_mm))
        for turn in range(max(map(len, ways))):
            hits = []
            for (index, pair), both, time in zip(own, ways, times, strict=True):
                made = both[turn]
                punch = pair.tools.punch
                struck = hit_of(made, machine, time)
                kind = SteppedHit if operations[index].is_offset else SpaceHit
                for laid, parent_behind in itertools.product(operations[index].lying(), (True, False)):
                    if laid.is_offset and not step_fits(laid, struck, parent_behind=parent_behind):
                        continue
                    hit = kind(
                        shapes,
                        laid,
                        parent_behind=parent_behind,
                        tools=struck,
                        foot_mm=None if punch is None else punch.ear_foot_mm,
                        fingers=fingers,
                    )
                    hits.append((index, made, hit))
            yield hits
