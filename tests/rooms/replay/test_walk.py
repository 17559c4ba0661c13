"""A right plan has no findings; each way of spoiling it has its own."""

import copy
import math

import pytest

from flangewise.faults import Unusable
from flangewise.replay import NumberedBend, SectionNumbers, replay

THICKNESS, RADIUS, LOADED = 1.5, 1.5, 92.0


def channel(leg=25.0, web=60.0):
    """A channel by flats: its outside sizes are flat + radius + thickness at each bend."""
    zone = math.pi / 2 * (RADIUS + 0.42 * THICKNESS)
    return SectionNumbers((leg, web, leg), (zone, zone), (90.0, 90.0), (RADIUS, RADIUS), THICKNESS)


def depth_mm():
    """Depth at the loaded turn for V 12 with sharp shoulders: (V/2) tan a - r (sec a - 1) - t sec a."""
    a = math.radians(LOADED / 2)
    return 6 * math.tan(a) - RADIUS * (1 / math.cos(a) - 1) - THICKNESS / math.cos(a)


def right_plan(toy):
    zone = math.pi / 2 * (RADIUS + 0.42 * THICKNESS)
    common = {"bend_to_deg": 180.0 - LOADED, "depth_mm": depth_mm(), "open_height_mm": 40.0}
    stops = {"x_mm": 25.0 + zone / 2, "r_mm": 0.0, "z_mm": [], "retract_mm": 0.0}
    return toy.plan(
        {"bends": [1], "stops": dict(stops), **common},
        {
            "bends": [2],
            "stops": dict(stops),
            "gauged_on": {"on": "end", "bend": None},
            "moves": [{"move": "turn", "axis": None, "words": "turn in the plane"}],
            **common,
        },
    )


def codes(findings):
    return [finding.code for finding in findings]


def spoiled(toy, step, **changes):
    plan = copy.deepcopy(right_plan(toy))
    plan["steps"][step].update(changes)
    return replay(channel(), plan, toy.bodies())


def test_a_right_plan_has_no_findings(toy):
    assert replay(channel(), right_plan(toy), toy.bodies()) == ()


@pytest.mark.parametrize(
    ("step", "changes", "expected"),
    [
        (0, {"marked_face": "down"}, ["replay-moves", "replay-face"]),
        (1, {"moves": []}, ["replay-moves"]),
        (1, {"moves": [{"move": "turn-over", "axis": "the bed"}]}, ["replay-moves"]),
        (1, {"bends": [1]}, ["replay-bend-again", "replay-bend-left-out"]),
        (1, {"bends": [7]}, ["replay-bend-unknown", "replay-bend-left-out"]),
        (0, {"finished_deg": 95.0, "bend_to_deg": 93.0, "depth_mm": None}, ["replay-angle"]),
        (0, {"bend_to_deg": 94.0, "depth_mm": None}, ["replay-springback"]),
        (0, {"depth_mm": 2.0}, ["replay-depth"]),
        (0, {"punch": "neck"}, ["replay-tool-unknown"]),
        (0, {"stops": {"x_mm": 20.0, "r_mm": 0.0, "retract_mm": 0.0}}, ["replay-stop-off", "replay-meets"]),
        (0, {"stops": {"x_mm": 28.4, "r_mm": 0.0, "retract_mm": 0.0}}, ["replay-stop-off"]),
        (0, {"stops": {"x_mm": 27.0, "r_mm": 5.0, "retract_mm": 0.0}}, ["replay-stop-misses"]),
        (1, {"gauged_on": {"on": "flange", "bend": 2}}, ["replay-flange-missing"]),
        (1, {"open_height_mm": 0.5}, ["replay-load", "replay-unload"]),
    ],
)
def test_a_spoiled_step_is_found(toy, step, changes, expected):
    found = codes(spoiled(toy, step, **changes))
    assert set(expected) <= set(found), found


def test_a_stop_in_the_way_is_a_body_that_is_met(toy):
    found = spoiled(toy, 0, stops={"x_mm": 26.0, "r_mm": 0.0, "retract_mm": 0.0})
    met = next(finding for finding in found if finding.code == "replay-meets")
    assert met.bodies == ("part", "stop")
    assert met.step == 1


def test_a_leg_too_long_for_the_web_meets_the_punch_at_the_second_bend(toy):
    # Inside the ring of web 30 the straight punch is 20 wide: by hand (30 - 20 sqrt 2 ...) some 15 mm are the limit.
    section = channel(leg=40.0, web=26.0)
    plan = copy.deepcopy(right_plan(toy))
    for step in plan["steps"]:
        step["stops"]["x_mm"] += 15.0
    found = replay(section, plan, toy.bodies())
    met = [finding for finding in found if finding.code == "replay-meets"]
    assert [(finding.step, finding.bodies) for finding in met] == [(2, ("part", "punch"))]
    assert met[0].overlap_mm > 1.0
    assert "punch" in met[0].text()


def test_a_leg_shorter_than_the_shoulder_is_refused(toy):
    # At 90 degrees the outer leg must be V / sqrt 2 = 8.485 from the sharp shoulder (r = 0 moves it by under 0.5).
    stops = {"x_mm": None, "r_mm": None, "z_mm": [], "retract_mm": 0.0}
    for flat, free in ((8.6 - 1.5, True), (8.485 - 1.5 - 0.5, False)):
        zone = 0.05
        section = SectionNumbers((flat, 40.0), (zone,), (90.0,), (0.0,), THICKNESS)
        plan = toy.plan({"bends": [1], "stops": stops, "bend_to_deg": 90.0})
        found = codes(replay(section, plan, toy.bodies()))
        assert ("replay-leg" not in found) is free


def test_the_flange_that_hangs_behind_pushes_a_stop_that_does_not_retract(toy):
    zone = math.pi / 2 * (RADIUS + 0.42 * THICKNESS)
    section = SectionNumbers((30.0, 60.0, 25.0), (zone, zone), (-90.0, 90.0), (RADIUS, RADIUS), THICKNESS)
    away = zone / 2 + 60.0 + RADIUS + THICKNESS
    low = {"x_mm": away, "r_mm": -25.0, "z_mm": [], "retract_mm": 0.0}
    step = {
        "bends": [2],
        "bend_to_deg": 180.0 - LOADED,
        "gauged_on": {"on": "flange", "bend": 1},
        "moves": [{"move": "turn-over-front", "axis": "front to back"}],
    }
    zero = {"x_mm": None, "r_mm": None, "z_mm": [], "retract_mm": 0.0}
    first = {"bends": [1], "marked_face": "down", "stops": zero}
    # Contact 10 below the sheet: it goes back by sqrt(x^2 + h^2) - x at most on the way.
    stays = replay(section, toy.plan(first, {**step, "stops": low}), toy.bodies())
    assert [finding.bodies for finding in stays if finding.code == "replay-meets"] == [("part", "stop")]
    away_again = {**low, "retract_mm": 12.0}
    assert "replay-meets" not in codes(replay(section, toy.plan(first, {**step, "stops": away_again}), toy.bodies()))


def hemmed(toy):
    """A sheet with a closed hem at its end, an acute pair and a flat one."""
    acute = toy.outline((0, 0), (3, 20), (3, 100), (-3, 100), (-3, 20))
    vee = toy.outline((10, 0), (4, 0), (0, -20), (-4, 0), (-10, 0), (-10, -60), (10, -60))
    plate = toy.outline((-25, 0), (25, 0), (25, 60), (-25, 60))
    below = toy.outline((-25, -60), (25, -60), (25, 0), (-25, 0))
    bodies = toy.bodies()
    tools = type(bodies)(
        {"acute": toy.ToolShape(acute, 100.0), "plate": toy.ToolShape(plate, 60.0, "flat")},
        {"vee": toy.ToolShape(vee, 60.0), "under": toy.ToolShape(below, 60.0, "flat")},
        bodies.ram,
        bodies.bed,
        bodies.finger,
    )
    section = SectionNumbers((60.0, 14.0), (1.57,), (180.0,), (0.0,), 1.0, (NumberedBend(1, "hem", (0,)),))
    return section, tools


def hem_plan(toy, **second):
    none = {"x_mm": None, "r_mm": None, "z_mm": [], "retract_mm": 0.0}
    pre_bend = {"bends": [1], "punch": "acute", "die": "vee", "bend_to_deg": 32.0, "finished_deg": 34.0, "stops": none}
    flatten = {"bends": [1], "punch": "plate", "die": "under", "bend_to_deg": 0.0, "finished_deg": 0.0, "stops": none}
    return toy.plan(pre_bend, {**flatten, **second})


def test_a_hem_takes_two_hits(toy):
    section, tools = hemmed(toy)
    assert replay(section, hem_plan(toy), tools) == ()
    once = {"steps": hem_plan(toy)["steps"][:1]}
    assert codes(replay(section, once, tools)) == ["replay-bend-left-out"]


def test_a_hem_cannot_be_flattened_between_a_nose_and_a_vee(toy):
    section, tools = hemmed(toy)
    assert codes(replay(section, hem_plan(toy, punch="acute", die="vee"), tools)) == ["replay-tool-kind"]


def test_a_hem_is_not_left_open_between_its_hits(toy):
    _, tools = hemmed(toy)
    other = SectionNumbers(
        (60.0, 40.0, 14.0), (2.4, 1.57), (90.0, 180.0), (1.0, 0.0), 1.0,
        (NumberedBend(1, "bend", (0,)), NumberedBend(2, "hem", (1,))),
    )  # fmt: skip
    pre_bend, flatten = ({**step, "bends": [2]} for step in hem_plan(toy)["steps"])
    between = {**pre_bend, "bends": [1], "bend_to_deg": 90.0, "finished_deg": 90.0}
    assert "replay-hem-parted" in codes(replay(other, {"steps": [pre_bend, between, flatten]}, tools))


def test_an_offset_goes_down_in_front(toy):
    zone = math.pi / 2 * 1.5
    section = SectionNumbers(
        (40.0, 2.0, 40.0), (zone, zone), (-90.0, 90.0), (1.0, 1.0), 1.0, (NumberedBend(1, "offset", (0, 1)),)
    )
    step_mm = 2.0 + 2 * 1.0 + 1.0
    above = toy.outline((1.5, step_mm), (1.5, 0), (30, 0), (30, 60), (-30, 60), (-30, step_mm))
    under = toy.outline((-30, 0), (-30, -60), (30, -60), (30, -step_mm), (-1.5, -step_mm), (-1.5, 0))
    plain = toy.bodies()
    tools = type(plain)(
        {"offset": toy.ToolShape(above, 60.0, "offset")},
        {"offset": toy.ToolShape(under, 60.0, "offset")},
        plain.ram,
        plain.bed,
        plain.finger,
    )
    none = {"x_mm": None, "r_mm": None, "z_mm": [], "retract_mm": 0.0}
    step = {"bends": [1], "punch": "offset", "die": "offset", "stops": none, "finished_deg": 90.0}
    assert codes(replay(section, toy.plan(step), tools)) == []
    up_in_front = toy.plan({**step, "gauged_on": {"on": "start", "bend": None}, "marked_face": "down"})
    assert codes(replay(section, up_in_front, tools)) == ["replay-face"]


@pytest.mark.parametrize(
    ("spoil", "where"),
    [
        ({"steps": "none"}, "steps"),
        ({"steps": []}, "steps"),
        ({"steps": [3]}, "steps[0]"),
    ],
)
def test_what_is_no_plan_is_a_fault(toy, spoil, where):
    with pytest.raises(Unusable) as told:
        replay(channel(), spoil, toy.bodies(), file="p.json")
    assert where in {fault.where for fault in told.value.faults}
    assert all(fault.text.startswith("p.json: ") for fault in told.value.faults)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"bends": "1"}, "steps[0].bends"),
        ({"bends": [True]}, "steps[0].bends"),
        ({"marked_face": "left"}, "steps[0].marked_face"),
        ({"depth_mm": "deep"}, "steps[0].depth_mm"),
        ({"depth_mm": float("nan")}, "steps[0].depth_mm"),
        ({"bend_to_deg": 200.0}, "steps[0].bend_to_deg"),
        ({"stops": None}, "steps[0].stops"),
        ({"gauged_on": {"on": "middle"}}, "steps[0].gauged_on.on"),
        ({"gauged_on": {"on": "start", "bend": "x"}}, "steps[0].gauged_on.bend"),
        ({"moves": ["turn"]}, "steps[0].moves"),
        ({"punch": None}, "steps[0].punch"),
    ],
)
def test_a_step_edited_to_nonsense_is_a_fault_with_its_place(toy, changes, where):
    plan = right_plan(toy)
    plan["steps"][0].update(changes)
    with pytest.raises(Unusable) as told:
        replay(channel(), plan, toy.bodies())
    assert [fault.where for fault in told.value.faults] == [where]
