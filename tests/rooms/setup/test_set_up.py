"""A whole set-up: numbers of hits, stations, what is counted, what is told."""

from __future__ import annotations

import pytest

from flangewise.sequence import Gauging, Move as Handling

from .made import chosen, codes, handler, machine, made, pair

OVER = Handling("turn-over", "the bed", 4.0)
PLANE = Handling("turn-in-plane", None, 2.0)


def test_no_steps_give_an_empty_set_up() -> None:
    from flangewise.setup import WorkCentre, Workpiece, set_up

    empty = set_up((), Workpiece(100.0, 2.0), WorkCentre(machine(), handler()))
    assert (empty.steps, empty.stations, empty.count("tool-change"), empty.findings) == ((), (), 0, ())


def test_a_part_lies_with_its_middle_at_the_station() -> None:
    step = made().steps[0]
    assert step.part_from_mm == pytest.approx(450 - 90)
    assert step.station.centre_mm == pytest.approx(450)
    left, right = step.stops.z_mm
    assert 360 < left < right < 540


def test_the_force_is_that_of_the_parts_own_length() -> None:
    short, long = made(length_mm=100.0).steps[0], made(length_mm=300.0).steps[0]
    assert short.force_kn is not None and long.force_kn == pytest.approx(3 * short.force_kn)
    assert short.force_kn == pytest.approx((pair().limit_force_kn_per_m or 0) * 0.1)


def test_turns_and_turn_overs_are_counted() -> None:
    whole = made(chosen(), chosen(moves=(OVER,)), chosen(moves=(PLANE,)), chosen(moves=(OVER, PLANE)))
    assert (whole.count("turn-over"), whole.count("turn-in-plane"), whole.count("tool-change"), whole.regrips) == (
        2,
        2,
        0,
        0,
    )
    assert [step.step for step in whole.steps] == [1, 2, 3, 4]
    assert whole.cycle_s > sum(step.seconds_s for step in whole.steps)


def test_a_robots_regrips_are_not_known() -> None:
    assert made(by=handler("robot")).regrips is None


def test_a_hem_is_two_hits_of_one_bend_at_two_stations() -> None:
    hem = pair("hem", 1.0)
    assert hem.then is not None
    whole = made(chosen(hem, bend=2, finished_turn_deg=180.0), thickness_mm=1.0)
    first, second = whole.steps
    assert (first.bends, second.bends) == ((2,), (2,))
    assert (first.hit, second.hit) == ("pre-bend", "flatten")
    assert second.finished_deg == 0 and second.ram.bend_to_deg is None
    assert first.finished_deg == pytest.approx(180 - (hem.turn_deg or 0))
    assert [move.move for move in second.moves] == ["shift"]
    assert whole.count("tool-change") == 0 and len(whole.stations) == 2
    assert first.part_from_mm != second.part_from_mm


def test_two_pairs_that_do_not_fit_beside_each_other_are_a_change_of_tools() -> None:
    whole = made(chosen(pair()), chosen(pair(die="vee-16-80")), length_mm=500.0)
    assert whole.count("tool-change") == 1
    assert [move.move for move in whole.steps[1].moves] == ["tool-change"]
    assert {station.set_up for station in whole.stations} == {1, 2}


def test_a_flange_on_the_stops_is_named_by_its_bend() -> None:
    on_flange = chosen(gauged=Gauging("flange", 2, 58.23, 1.0, 2.5, 0.0))
    assert made(on_flange).steps[0].gauged_bend == 3
    step = made(on_flange, zone_bends=(1, 1, 2)).steps[0]
    assert (step.gauged_on, step.gauged_bend, step.stops.x_mm, step.stops.retract_mm) == ("flange", 2, 58.23, 2.5)
    on_edge = made().steps[0]
    assert (on_edge.gauged_on, on_edge.gauged_bend) == ("start", None)


def test_the_marked_face_and_the_bend_are_handed_on() -> None:
    step = made(chosen(marked_up=False, bend=4, finished_turn_deg=45.0)).steps[0]
    assert (step.marked_face, step.bends, step.finished_deg, step.planned.step.clearance_mm) == ("down", (4,), 135, 5.0)


def test_a_bend_longer_than_the_segments_is_refused() -> None:
    whole = made(length_mm=890.0, on=machine(bed_length_mm=895.0))
    assert codes(whole.findings) & {"punch-too-short", "die-too-short"} == set()
    assert "punch-too-short" in codes(made(length_mm=950.0).findings)


def test_a_punch_set_turned_is_told_with_its_step() -> None:
    neck = pair(punch="neck-deep", die="vee-12-85")
    whole = made(chosen(neck), chosen(neck, turned=True))
    assert [step.planned.mounting.turned for step in whole.steps] == [False, True]
    assert len(whole.stations) == 2


def test_scatter_is_told_where_the_thickness_has_a_tolerance() -> None:
    assert made().steps[0].spread is None
    step = made(chosen(tolerance_deg=0.5), tolerance_mm=0.1).steps[0]
    assert step.spread is not None and step.spread.first_piece_deg > 1
    (scattered,) = made(chosen(tolerance_deg=0.5), tolerance_mm=0.1).steps
    assert scattered.spread is not None
    assert scattered.spread.first_piece_deg > 0.5 == scattered.planned.tolerance_deg


def test_findings_come_gravest_first_and_name_their_step() -> None:
    whole = made(chosen(reach_mm=900.0), chosen(reach_mm=900.0, open_height_mm=5000.0))
    assert [finding.severity for finding in whole.findings] == sorted(
        (finding.severity for finding in whole.findings), key=["refuse", "caution", "note"].index
    )
    assert whole.findings[0].code == "opening-over-daylight" and whole.findings[0].place() == "step 2"


def test_the_same_steps_give_the_same_set_up() -> None:
    assert made(chosen(), chosen(moves=(OVER,))) == made(chosen(), chosen(moves=(OVER,)))
