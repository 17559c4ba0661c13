"""The search's question: chain, operations, tools offered both ways round, prices, reach of the stops."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flangewise.jobs.machines import blanked, worked_out
from flangewise.jobs.problem import RANK_PRICE, TURNED_PRICE, costs_of, mountings, pair_price, problem_of
from flangewise.part import Part
from flangewise.punch_die import usable
from flangewise.sequence import Asked, SectionProblem, StopTravel

from .made import GOOSE, STRAIGHT, built_in, differences, part, steel, toy


def asked(wanted: Part, *, built: bool = False) -> SectionProblem:
    job = blanked(wanted, built_in() if built else toy())
    assert job.pattern is not None
    options = {bend: mountings(usable(pairs)) for bend, pairs in job.offers.items()}
    return problem_of(job, options)


def test_the_chain_is_the_blank_s() -> None:
    """Flats and zones add up to the developed blank; turns keep their signs."""
    job = blanked(part([20, 60, 30], [90, -45]), toy())
    assert job.pattern is not None
    chain = asked(part([20, 60, 30], [90, -45])).chain
    assert sum(chain.flats_mm) + sum(chain.zones_mm) == pytest.approx(job.pattern.developed_mm)
    assert chain.turns_deg == (90, -45) and chain.thickness_mm == 1.5
    setback = (chain.radii_mm[0] + 1.5) * math.tan(math.radians(45))
    assert chain.flats_mm[0] == pytest.approx(20 - setback)


def test_a_bend_is_an_operation_of_one_zone_and_an_offset_of_two() -> None:
    wanted = steel([30, 60, 40], [{"offset": 4, "radius": 1}, 90], thickness=1.5)
    operations = asked(wanted, built=True).operations
    assert [(each.label, each.zones) for each in operations] == [("1", (0, 1)), ("2", (2,))]
    assert {option.hits[0].kind for option in operations[0].options} == {"offset"}
    assert {option.hits[0].kind for option in operations[1].options} == {"swing"}


def test_a_hem_is_one_operation_of_two_hits() -> None:
    wanted = steel([12, 150], [{"hem": "closed", "away": True}], thickness=1)
    (operation,) = asked(wanted, built=True).operations
    looked_at = operation.options
    assert looked_at
    for option in looked_at:
        pre_bend, flatten = option.hits
        assert (pre_bend.kind, flatten.kind) == ("swing", "press")
        assert pre_bend.loaded_turn_deg > 140 and flatten.loaded_turn_deg == 180
        assert option.entry is pre_bend.stack and option.exit is flatten.stack


def test_a_relieved_punch_is_offered_both_ways_at_a_price() -> None:
    wanted = part([20, 60], [90], GOOSE)
    pair = blanked(wanted, toy()).pairs[1]
    assert pair is not None
    own = pair_price(pair)  # asked for by name it costs what it would among all
    (operation,) = asked(wanted).operations
    assert own > 0 and [(option.hits[0].stack.turned, option.cost) for option in operation.options] == [
        (False, own),
        (True, own + TURNED_PRICE),
    ]
    (plain,) = asked(part([20, 60], [90], STRAIGHT)).operations
    assert [option.cost for option in plain.options] == [0.0]


def test_the_best_pair_costs_nothing_and_the_others_their_rank_above_it() -> None:
    job = blanked(steel([40, 60], [90]), built_in())
    pairs = usable(job.offers[1])
    (operation,) = asked(job.part, built=True).operations
    costs = {
        (o.hits[0].stack.punch, o.hits[0].stack.die): o.cost for o in operation.options if not o.hits[0].stack.turned
    }
    assert min(costs.values()) == 0.0
    for pair in pairs:
        extra = RANK_PRICE * (pair.cost - min(each.cost for each in pairs))
        assert costs[pair.tools.punch_name, pair.tools.die_name] == pytest.approx(extra)
        assert pair_price(pair) == RANK_PRICE * pair.cost


def test_the_turn_under_load_is_more_than_the_bend_by_its_springback() -> None:
    job = blanked(part([20, 60], [90]), toy())
    pair = job.pairs[1]
    assert pair is not None and pair.air.springback_deg > 0
    (operation,) = asked(job.part).operations
    assert operation.options[0].hits[0].loaded_turn_deg == pytest.approx(90 + pair.air.springback_deg)


def test_prices_are_the_handler_s_and_the_machine_s_seconds_a_part() -> None:
    """The toy handler's whole numbers, and 500 s for a tool put in over 50 parts.

    Around the part 5, less the first next stop 0.5, and the first punch and die 20. Two stations of 100 stand beside
    each other: going to the other is a shift of 1 and its two tools put in. With one tool in common it may be less to
    put the part down and fetch it, 2, for the one tool put in: 12, and the other tool the rest of 21. Of the toy's
    pairs no two are as high as each other: none stand together, and it is put down for each.
    """
    job = blanked(part([20, 60, 20], [90, 90]), toy())
    apart, costs = asked(job.part).costs, costs_of(job.centre, beside=True)
    assert (apart.station_change, apart.tool_change) == (2, 10)
    changes = {key: getattr(costs, key) for key in ("station_change", "tool_change", "stands_beside")}
    assert replace(apart, **changes) == costs and costs.stands_beside and not apart.stands_beside
    assert (costs.base, costs.share, costs.hit) == (5 - 0.5 + 20, 1, 1.5)
    assert (costs.turn_in_plane, costs.turn_over_bed, costs.turn_over_front_back) == (1, 2, 2)
    assert costs.rehandle == 1 + 1 - 0.5
    assert (costs.station_change, costs.tool_change) == (12 - 9, 21 - 12)
    assert (costs.gauge_flange, costs.gauge_inclined, costs.gauge_past_bends) == (0.5, 3, 1)
    assert (costs.gauge_unwanted, costs.side_exit, costs.stop_change) == (20, 4, 0)


def test_a_long_part_is_put_down_where_its_tools_are_changed() -> None:
    """Two stations of 1600 do not stand on 3000: put down 1, fetched 1; each tool that is not there put in, 10."""
    problem = asked(part([20, 60], [90], section={"length": 1600}))
    assert (problem.costs.station_change, problem.costs.tool_change) == (2, 10)
    assert problem.stop_travel == StopTravel(250, 1000, 0.5, 2)
    beside = asked(part([20, 60], [90]))
    assert beside.stop_travel == StopTravel(250, 1000, 0.5, 1)


def test_the_set_up_is_shared_over_the_part_s_own_quantity() -> None:
    """1000 s for punch and die: over 10 parts 100, over the shop's 50 parts 20."""
    few, usual = (asked(part([20, 60], [90], **more)).costs for more in ({"quantity": 10}, {}))
    assert few.base - usual.base == pytest.approx(100 - 20)


def test_the_allowance_is_on_all_that_is_done_to_a_part_and_on_nothing_of_the_set_up() -> None:
    """The example operator's 12 %: a turn of 1.2; 1320 s and 2 x 180 over 50 parts on the long machine."""
    wanted = steel([30, 60], [90], machine="long-1450", handler="operator")
    costs = asked(wanted, built=True).costs
    assert costs.share == pytest.approx(1.12) and costs.turn_in_plane == pytest.approx(1.12 * 1.2)
    around = 3 + 0 + 1.5 + 0.8 + 1.5 + 2
    assert costs.base == pytest.approx(1.12 * (around - 0.8) + (1320 + 2 * 180) / 50)
    assert costs.gauge_flange == 0.5


def test_a_mm_of_the_sheet_weighs_its_length_and_thickness() -> None:
    """Steel of 7850 kg/m3, 1.5 thick and 100 long: 1.1775 g a mm."""
    hold = asked(part([20, 60], [90])).hold
    assert hold is not None and hold.kg_per_mm == pytest.approx(7850e-9 * 1.5 * 100)
    assert (hold.least_mm, hold.most_behind_nm) == (0, 1000)


def test_the_reach_of_the_stops_is_the_machine_s() -> None:
    gauge = asked(part([20, 60], [90])).gauge
    assert gauge is not None
    assert (gauge.x_min_mm, gauge.x_max_mm, gauge.r_min_mm, gauge.r_max_mm) == (1, 2000, -100, 400)
    assert set(gauge.finger_mm) == {(0, 0), (0, 10), (-40, 10), (-40, 0)}


def test_an_order_of_the_file_becomes_indices_and_none_stays_free() -> None:
    assert asked(part([20, 60, 20], [90, 90], order=[2, 1])).order == (1, 0)
    assert asked(part([20, 60, 20], [90, 90])).order is None


def test_ways_in_and_out_are_always_looked_at() -> None:
    question = asked(part([20, 60], [90]))
    assert question.check_exits and question.side_exit_allowed and question.check_self


def test_what_bends_ask_of_face_and_gauging_goes_to_the_search() -> None:
    """A flange is named by its bend and found by its zone: bend 3 after an offset of two zones is zone 3."""
    offset = {"offset": 4, "radius": 1, "face": "down"}
    bends = [offset, 90, {"turn": 90, "away": True, "gauge": "end"}, {"turn": 90, "gauge": {"flange": 3}}]
    wanted = steel([30, 60, 60, 60, 40], bends, thickness=1.5)
    assert asked(wanted, built=True).asked == (
        Asked(marked_up=False),
        Asked(),
        Asked(datum="end"),
        Asked(datum="flange", flange_zone=3),
    )


def test_where_nothing_is_asked_the_search_is_asked_nothing() -> None:
    assert asked(part([20, 60, 30], [90, -45])).asked == ()


@pytest.mark.parametrize("face", ["up", "down"])
def test_an_offset_is_made_with_the_face_up_that_the_part_asks_for(face: str) -> None:
    job = worked_out(steel([30, 60], [{"offset": 4, "radius": 1, "face": face}], thickness=1.5), built_in())
    assert job.setup is not None
    assert [step.marked_face for step in job.setup.steps] == [face]
    assert differences(job) == []


@pytest.mark.parametrize(("datum", "on"), [("start", ("start", None)), ("end", ("end", None)), (2, ("flange", 2))])
def test_a_bend_is_gauged_as_the_part_asks(datum: str | int, on: tuple[str, int | None]) -> None:
    gauge = datum if isinstance(datum, str) else {"flange": datum}
    first = {"turn": 90, "punch": STRAIGHT[0], "die": STRAIGHT[1], "gauge": gauge}
    job = worked_out(part([30, 70, 30], [first, 90]), toy())
    assert job.setup is not None
    step = next(step for step in job.setup.steps if step.bends == (1,))
    assert (step.gauged_on, step.gauged_bend) == on
    assert differences(job) == []
