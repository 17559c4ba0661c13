"""A plan's text and CSV by heading, held to its JSON; the JSON held to the part file, the blank and the shop."""

from __future__ import annotations

import math
import re
from itertools import pairwise, product

import pytest

from flangewise.commands.plan_gripping import GRIP_COLUMNS

from ..each import of_each
from .read_back import (
    INCH_MM,
    NAMES,
    PLAIN,
    WANTED,
    Record,
    by_heading,
    csv_rows,
    degrees,
    file_of,
    flats,
    force_kn,
    in_mm,
    labels,
    listed,
    number,
    numbers,
    out_of,
    plans,
    printed_length_mm,
    signed_turns_deg,
    start_is_behind,
)

STEPS = [
    (name, place) for name in NAMES for place in range(len(WANTED[name]["section"]["bends"]) + (name == "logger-lid"))
]


def step_of(name: str, place: int) -> Record:
    """A step of an example's plan."""
    return plans()[name]["steps"][place]


def zone_of(name: str, bend: int) -> Record:
    """The line of a bend on the blank."""
    return next(each for each in flats()[name]["bends"] if each["bend"] == bend)


@of_each(product(NAMES, ("mm", "inch")))
def test_the_text_says_under_each_heading_what_the_record_says(name: str, units: str) -> None:
    text = out_of("--units", units, "plan", file_of(name))
    assert max(map(len, text.splitlines())) <= 80
    rows = by_heading(text, "step")
    close = 0.006 if units == "mm" else 0.0006 * INCH_MM
    assert len(rows) == len(plans()[name]["steps"])
    for row, step in zip(rows, plans()[name]["steps"], strict=True):
        assert row["step"] == str(step["step"])
        assert row["bend"] == "+".join(map(str, step["bends"]))
        assert row.get("hit", "bend") == step["hit"]
        assert row["marked"] == step["marked_face"]
        gauged = step["gauged_on"]
        edge = f"flange of bend {gauged['bend']}" if gauged["on"] == "flange" else f"{gauged['on']} edge"
        assert row["on the stops"] == ("by hand" if step["hit"] == "flatten" else edge)
        turned = " turned" if step["punch_turned"] else ""
        tools, force = row["tools"].split(", ")
        assert tools == f"{step['punch']}{turned} on {step['die']}"
        lengths = {
            "X": step["stops"]["x_mm"],
            "R": step["stops"]["r_mm"],
            "depth": step["depth_mm"],
            "open": step["open_height_mm"],
        }
        for heading, value in lengths.items():
            if value is None:
                assert row[heading] == "–"
            else:
                assert printed_length_mm(row[heading]) == pytest.approx(value, abs=close), heading
        for heading, value in (("bend to", step["bend_to_deg"]), ("for", step["finished_deg"])):
            if value is None:
                assert row[heading] == "–"
            else:
                assert row[heading].endswith("°") and number(row[heading]) == pytest.approx(value, abs=0.06)
        assert force.endswith(" kN" if units == "mm" else " kN)") and force_kn(force) == pytest.approx(
            step["force_kn"], abs=0.51 if step["force_kn"] > 20 else 0.06
        )
        held = step["hold"]
        assert printed_length_mm(row["hold in front"].split(" by ")[0].split(" with ")[0]) == pytest.approx(
            math.floor(held["front_mm"] + 1e-6), abs=0.01 if units == "mm" else close
        )
        assert ("by hand" in row["hold in front"]) == (held["by"] == "hand")
        for move in step["moves"]:
            assert re.split(r":| to the tools", move["words"])[0] in row["do first"]


@of_each(product(NAMES, ("mm", "inch")))
def test_the_head_and_the_totals_of_the_text_say_what_the_record_says(name: str, units: str) -> None:
    plan, told = plans()[name], labels(out_of("--units", units, "plan", file_of(name)))
    close = 0.006 if units == "mm" else 0.0006 * INCH_MM
    assert told["machine"] == f"{plan['machine']}, tended by {plan['handler']}"
    across, along = told["blank"].split("(")[0].split("×")
    assert printed_length_mm(across) == pytest.approx(plan["blank"]["developed_mm"], abs=close)
    assert printed_length_mm(along) == pytest.approx(in_mm(name, WANTED[name]["section"]["length"]), abs=close)
    assert number(told["order"]) == pytest.approx(plan["cost"], abs=0.006)
    assert ("proven least" in told["order"]) == plan["proven_least"]
    totals = plan["totals"]
    cycle, set_up, quantity = numbers(told["made of"])[:3]
    assert cycle == pytest.approx(totals["cycle_s"], abs=0.06)
    assert set_up == pytest.approx(totals["set_up_s"] / totals["quantity"], abs=0.06)
    assert quantity == totals["quantity"] == WANTED[name].get("quantity", 50)
    assert numbers(told["handling"])[:2] == [totals["turn_overs"], totals["turns"]]
    assert numbers(told["handling"])[-1] == totals["tool_changes"]
    assert number(told["a part"]) == pytest.approx(totals["cycle_s"], abs=0.6)
    # The spread of the angle that is expected at first, with the thickness measured, and after one correction.
    worst = max(
        (step for step in plan["steps"] if step["spread_deg"]), key=lambda step: step["spread_deg"], default=None
    )
    if worst is not None and "first piece" in told:
        said = [degrees(each) for each in re.findall(r"±([\d.°′]+)", told["first piece"].split(" Most")[0])]
        keys = ("spread_deg", "tolerance_deg", "spread_measured_deg", "spread_corrected_deg")
        assert said == pytest.approx([worst[key] for key in keys], abs=0.06)


@of_each(NAMES)
def test_every_column_of_the_csv_says_what_the_record_says(name: str) -> None:
    looked_at = list(
        zip(csv_rows(out_of("plan", file_of(name), "--format", "csv")), plans()[name]["steps"], strict=True)
    )
    assert looked_at
    for row, step in looked_at:
        flat = {**step, **step["stops"], "gauged_on": step["gauged_on"]["on"], "gauged_bend": step["gauged_on"]["bend"]}
        flat |= {"part": name, "moves": "; ".join(move["words"] for move in step["moves"])}
        assert step["grip"] is None, "a person tends the machine: the columns of a gripper are empty"
        flat |= dict.fromkeys(GRIP_COLUMNS)
        for column, text in row.items():
            wanted = flat[column]
            if isinstance(wanted, bool):
                assert text == str(wanted).lower()
            elif isinstance(wanted, list):
                assert numbers(text) == pytest.approx([float(each) for each in wanted]), column
            elif isinstance(wanted, int | float):
                assert float(text) == pytest.approx(wanted), column
            else:
                assert text == (wanted or ""), column


@of_each(STEPS)
def test_a_step_lays_the_face_up_that_the_part_file_bends_toward(name: str, place: int) -> None:
    """The wings come up round the punch, so a bend toward the marked face has it up; an offset can have either."""
    step = step_of(name, place)
    if step["hit"] != "offset":
        toward = signed_turns_deg(name)[step["bends"][0] - 1] > 0
        assert step["marked_face"] == ("up" if toward else "down")


@of_each(STEPS)
def test_x_is_where_the_blank_or_the_formed_flange_puts_the_line(name: str, place: int) -> None:
    """From an edge it is the line's own distance; from a flange at 90 degrees to its outer face, a setback further."""
    step, blank = step_of(name, place), flats()[name]["blank"]
    if step["hit"] == "offset":
        return
    if step["hit"] == "flatten":
        assert step["stops"] == {"x_mm": None, "r_mm": None, "z_mm": [], "retract_mm": 0.0}
        return
    zone, gauged = zone_of(name, step["bends"][0]), step["gauged_on"]
    x = {"start": zone["line_mm"], "end": blank["developed_mm"] - zone["line_mm"]}.get(gauged["on"])
    if x is None:
        other = zone_of(name, gauged["bend"])
        flat = abs(other["line_mm"] - zone["line_mm"]) - (other["zone_mm"][1] - other["zone_mm"][0]) / 2
        # Gauged on the outer face, or the inner one where the flange hangs down before the stop.
        faces = [flat + other["setback_mm"], flat + other["inside_radius_mm"]]
        assert any(step["stops"]["x_mm"] == pytest.approx(face, abs=0.01) for face in faces)
        return
    assert step["stops"]["x_mm"] == pytest.approx(x, abs=0.01)
    thick = in_mm(name, WANTED[name]["thickness"])
    assert abs(step["stops"]["r_mm"]) < 5 + thick


@of_each(STEPS)
def test_a_step_is_bent_past_its_finished_angle(name: str, place: int) -> None:
    step = step_of(name, place)
    if step["hit"] == "bend":
        turn = abs(signed_turns_deg(name)[step["bends"][0] - 1])
        assert step["finished_deg"] == pytest.approx(180 - turn)
    if step["bend_to_deg"] is not None:
        assert 0.2 < step["finished_deg"] - step["bend_to_deg"] < 12
        assert step["mm_per_deg"] * step["deg_per_mm"] == pytest.approx(1, rel=1e-4)
        assert 0.1 < step["spread_corrected_deg"] < step["spread_measured_deg"] < step["spread_deg"] < 8


# ISO 2768-1 m, from memory: up to a size, plus and minus; of an angle by its shorter leg.
LEG_LIMITS_MM = ((6, 0.1), (30, 0.2), (120, 0.3), (400, 0.5), (1000, 0.8))
ANGLE_LIMITS_DEG = ((10, 1.0), (50, 1 / 2), (120, 1 / 3), (400, 1 / 6))


def allowed(limits: tuple[tuple[float, float], ...], size_mm: float) -> float:
    """What a table allows of a size."""
    return next(limit for most, limit in limits if size_mm <= most)


@of_each(PLAIN)
def test_angles_and_legs_are_allowed_what_the_file_or_else_the_standard_says(name: str) -> None:
    plan, section = plans()[name], WANTED[name]["section"]
    legs, told = [in_mm(name, leg) for leg in section["legs"]], WANTED[name].get("tolerances", {})
    errors = [told.get("legs", allowed(LEG_LIMITS_MM, leg)) for leg in legs]
    assert [each["allowed_mm"] for each in plan["leg_errors"]] == pytest.approx(errors)
    angles = [told.get("angle", allowed(ANGLE_LIMITS_DEG, min(pair))) for pair in pairwise(legs)]
    looked_at = plan["steps"]
    assert looked_at
    for step in looked_at:
        assert step["tolerance_deg"] == pytest.approx(angles[step["bends"][0] - 1], abs=1e-5)
        assert step["correction"]["plus_minus_mm"] == pytest.approx(errors[step["correction"]["leg"] - 1])
        # Ram and bed give way by more, all along a hit in the middle, than its middle by more than its ends.
        assert step["mean_opening_mm"] > step["crowning_mm"] >= 0


@of_each(STEPS)
def test_the_opening_is_what_must_pass_and_what_the_handler_keeps_in_hand(name: str, place: int) -> None:
    step, plan = step_of(name, place), plans()[name]
    hand, machine = listed("handlers")[plan["handler"]], listed("machines")[plan["machine"]]
    kept = max(hand["load_margin_mm"], hand["unload_margin_mm"]) + hand["tilt_margin_mm"]
    alone = step["hit"] == "offset"
    passes = in_mm(name, WANTED[name]["thickness"]) if alone else numbers(step["open_height_reason"])[0]
    assert numbers(step["open_height_reason"])[-1] == kept
    assert step["open_height_mm"] == pytest.approx(
        math.ceil(round((passes + kept) / machine["opening_step_mm"], 2)) * machine["opening_step_mm"], abs=0.011
    )
    assert passes >= in_mm(name, WANTED[name]["thickness"])
    # What must pass under the nose lies behind it: on the start's side of the bend, or on the other.
    piece = re.search(r"\bleg (\d+)", step["open_height_reason"])
    if piece is not None:
        assert 1 <= int(piece[1]) <= len(WANTED[name]["section"]["legs"])
        assert (int(piece[1]) <= step["bends"][0]) == start_is_behind(step)


@of_each(PLAIN)
def test_what_a_first_bend_makes_comes_out_over_the_shoulder(name: str) -> None:
    """Before other flanges stand: the hind wing at half the loaded turn, as deep in the die as the punch went."""
    step = plans()[name]["steps"][0]
    passes = numbers(step["open_height_reason"])[0]
    half = math.radians(180 - step["bend_to_deg"]) / 2
    thick = in_mm(name, WANTED[name]["thickness"])
    wing = min(step["stops"]["x_mm"], flats()[name]["blank"]["developed_mm"] - step["stops"]["x_mm"])
    assert thick <= passes <= wing * math.sin(half) + thick / math.cos(half)


def most_half_turn_per_mm(name: str, place: int) -> float:
    """The greatest half turn for a mm of depth, in rad, of straight wings that roll on the die's shoulders.

    Wings tangent to shoulder arcs whose centres stand V/2 from the middle, and to the bend of outer radius R:
    D = V/2 tan a + r - (r + R)/cos a + Ri, so da/dD = cos^2 a / (V/2 - (r + R) sin a). Elementary geometry.
    """
    step = step_of(name, place)
    die = listed("dies")[step["die"]]
    both = die["shoulder_radius_mm"] + zone_of(name, step["bends"][0])["inside_radius_mm"]
    both += in_mm(name, WANTED[name]["thickness"])
    halves = [math.radians(180 - step["bend_to_deg"]) / 2 * share / 50 for share in range(51)]
    return max(math.cos(half) ** 2 / (die["opening_mm"] / 2 - both * math.sin(half)) for half in halves)


def reach_mm(name: str, place: int) -> float:
    """From the bend to the farthest point of the part as formed before, folded sharp at its bend lines."""
    steps, bend = plans()[name]["steps"], step_of(name, place)["bends"][0]
    lines = [each["line_mm"] for each in flats()[name]["bends"]]
    places = [0.0, *lines, flats()[name]["blank"]["developed_mm"]]
    numbered = [int(re.sub(r"\D", "", str(each["bend"]))) for each in flats()[name]["bends"]]
    ways = [each["turn_deg"] * (1 if each["toward"] else -1) for each in flats()[name]["bends"]]
    done = {number for each in steps[:place] for number in each["bends"]}
    points, slope = [(0.0, 0.0)], 0.0
    for leg, (start, end) in enumerate(pairwise(places)):
        x, y = points[-1]
        points.append((x + (end - start) * math.cos(slope), y + (end - start) * math.sin(slope)))
        if leg < len(ways) and numbered[leg] in done - {bend}:
            slope += math.radians(ways[leg])
    at = points[numbered.index(bend) + 1]
    return max(math.dist(at, point) for point in points)


@of_each(STEPS)
def test_the_ram_goes_slow_a_change_over_above_the_sheet_and_the_tip_keeps_its_limit(name: str, place: int) -> None:
    step, plan = step_of(name, place), plans()[name]
    machine = listed("machines")[plan["machine"]]
    if step["hit"] == "flatten":
        assert step["slow_from_mm"] == step["open_height_mm"]
    else:
        thick = in_mm(name, WANTED[name]["thickness"])
        assert step["slow_from_mm"] == pytest.approx(thick + machine["change_over_mm"], abs=0.001)
        assert step["slow_from_mm"] < step["open_height_mm"]
    assert 0 < step["ram_speed_mm_per_s"] <= machine["bend_mm_per_s"]
    if step["bend_to_deg"] is None:
        assert step["tip_speed_mm_per_s"] is None
        return
    reach = reach_mm(name, place)
    swing = abs(reach * most_half_turn_per_mm(name, place) - 1) * step["ram_speed_mm_per_s"]
    assert step["tip_speed_mm_per_s"] == pytest.approx(swing, rel=0.15)
    assert step["tip_speed_mm_per_s"] <= 250 + 1e-6
    note = [
        each["text"] for each in plan["findings"] if (each["code"], each["where"]) == ("tip-speed", f"step {place + 1}")
    ]
    if note:
        slowed, reaches, would_be, most = numbers(note[0])
        assert slowed == step["ram_speed_mm_per_s"]
        assert reaches == pytest.approx(reach, rel=0.02)
        assert would_be / machine["bend_mm_per_s"] == pytest.approx(step["tip_speed_mm_per_s"] / slowed, rel=0.01)
        assert would_be > most == 250


def run_s(way: float, speed: float, machine: Record) -> float:
    """From standstill to standstill: at full speed with its two ramps, or up and down without reaching it."""
    ramp = machine["acceleration_mm_per_s2"]
    return way / speed + speed / ramp if way >= speed**2 / ramp else 2 * math.sqrt(max(way, 0.0) / ramp)


def around_s(name: str, place: int) -> float:
    """What is done with the part before a hit, or the stops' way where that is longer; nothing before the first."""
    if place == 0:
        return 0.0
    step, before = step_of(name, place), step_of(name, place - 1)
    hand, machine = listed("handlers")[plans()[name]["handler"]], listed("machines")[plans()[name]["machine"]]
    row = {("turn-in-plane", None): "turn_s", ("turn-over", "the bed"): "turn_over_bed_s", ("shift", None): "shift_s"}
    moves = [(each["move"], each["axis"]) for each in step["moves"]]
    turned = [hand[row.get(move, "turn_over_front_s")] for move in moves if move[0] not in ("tool-change", "side-exit")]
    changed = any(move == "tool-change" for move, _ in moves)
    through = hand["next_stop_s"]
    if turned or changed:
        through = max(hand["withdraw_s"] + hand["insert_s"], hand["next_stop_s"])
    handled = through + sum(turned) + changed * (hand["place_s"] + hand["pick_s"] + hand["square_s"])
    stops = [each["stops"]["x_mm"] for each in (before, step)]
    way = 0.0 if None in stops else run_s(abs(stops[0] - stops[1]), machine["stop_speed_mm_per_s"], machine)
    return max(handled, way) + hand["side_exit_s"] * any(move == "side-exit" for move, _ in moves)


@of_each(STEPS)
def test_a_step_takes_the_seconds_of_its_stroke_and_its_moves(name: str, place: int) -> None:
    """Fast to the change-over, slow to the sheet, the bend at its own speed, the dwell, and back at once."""
    step, plan = step_of(name, place), plans()[name]
    hand, machine = listed("handlers")[plan["handler"]], listed("machines")[plan["machine"]]
    thick = in_mm(name, WANTED[name]["thickness"])
    gap, slow = step["open_height_mm"] - thick, step["slow_from_mm"] - thick
    travel = max((step["depth_mm"] or 0.0) + thick, 0.0) if step["depth_mm"] is not None else thick
    down = run_s(gap - slow, machine["fast_mm_per_s"], machine) + slow / machine["slow_mm_per_s"]
    bent = travel / step["ram_speed_mm_per_s"] + machine["dwell_s"]
    back = run_s(gap + travel, machine["return_mm_per_s"], machine)
    wanted = around_s(name, place) + hand["gauge_s"] + down + bent + back
    assert step["seconds"] == pytest.approx(wanted, abs=0.01)


@of_each(NAMES)
def test_seconds_and_moves_add_up_to_the_totals(name: str) -> None:
    plan = plans()[name]
    totals, steps = plan["totals"], plan["steps"]
    hand = listed("handlers")[plan["handler"]]
    machine = listed("machines")[plan["machine"]]
    bare = sum(step["seconds"] for step in steps)
    once = ("pick_s", "square_s", "insert_s", "withdraw_s", "inspect_s", "place_s")
    around = sum(hand[each] for each in once)
    assert totals["cycle_s"] == pytest.approx((bare + around) * (1 + hand["allowance_share"]), abs=1e-4)
    pairs = {(step["punch"], step["die"], step["punch_turned"]) for step in steps}
    assert totals["set_up_s"] == pytest.approx(machine["set_up_s"] + 2 * machine["mount_s"] * len(pairs))
    wishes = sum(each["seconds"] for each in totals["wishes"])
    assert plan["cost"] == pytest.approx(totals["cycle_s"] + totals["set_up_s"] / totals["quantity"] + wishes, abs=1e-4)
    faces = [step["marked_face"] for step in steps]
    assert totals["turn_overs"] == sum(one != other for one, other in pairwise(faces))
    assert totals["turn_overs"] == sum(move["move"] == "turn-over" for step in steps for move in step["moves"])
    assert totals["turns"] == sum(move["move"] == "turn-in-plane" for step in steps for move in step["moves"])


@of_each(STEPS)
def test_a_clearance_is_told_once_there_are_flanges(name: str, place: int) -> None:
    step = step_of(name, place)
    plain = step["hit"] != "offset"
    if plain and place > 0:
        assert step["clearance_mm"] is not None and 0 < step["clearance_mm"] < 500


@of_each(STEPS)
def test_stops_and_segments_stand_where_the_part_lies_on_the_bed(name: str, place: int) -> None:
    step, plan = step_of(name, place), plans()[name]
    machine = listed("machines")[plan["machine"]]
    length = in_mm(name, WANTED[name]["section"]["length"])
    low, high = machine["stop_z_mm"]
    assert all(low <= z <= high for z in step["stops"]["z_mm"])
    (station,) = step["stations"]
    middle = (station["from_mm"] + station["to_mm"]) / 2
    first, last = (step["stops"]["z_mm"] or [middle, middle])[:: max(len(step["stops"]["z_mm"]) - 1, 1)]
    assert (first + last) / 2 == pytest.approx(middle)
    assert last - first < length <= station["to_mm"] - station["from_mm"]
    for ends, segments in (("", "segments"), ("die_", "die_segments")):
        built = station[f"{ends}to_mm"] - station[f"{ends}from_mm"]
        assert sum(numbers(" ".join(station[segments]))) == pytest.approx(built)
    # By hand 1.43 Rm t2/V a length (the formula of the trade, from memory), half of it at least.
    if step["hit"] == "bend":
        material, die = listed("materials")[str(WANTED[name]["material"])], listed("dies")[step["die"]]
        thick = in_mm(name, WANTED[name]["thickness"])
        by_hand = 1.43 * material["tensile_mpa"] * thick**2 / die["opening_mm"] * length / 1000
        assert 0.5 * by_hand < step["force_kn"] < 1.3 * by_hand


@of_each(NAMES)
def test_what_lies_in_front_and_behind_is_the_part(name: str) -> None:
    plan = plans()[name]
    developed = plan["blank"]["developed_mm"]
    looked_at = list(plan["steps"])
    assert looked_at
    for step in looked_at:
        hold = step["hold"]
        assert hold["front_kg"] + hold["behind_kg"] == pytest.approx(plan["blank"]["mass_kg"], rel=0.02)
        if not any(other["step"] < step["step"] for other in plan["steps"]):
            assert hold["front_mm"] == pytest.approx(developed - step["stops"]["x_mm"], abs=0.05)
            assert hold["front_kg"] == pytest.approx(plan["blank"]["mass_kg"] * hold["front_mm"] / developed, rel=0.02)


@of_each(PLAIN)
def test_a_stop_on_an_edge_sets_the_leg_to_that_edge(name: str) -> None:
    """X up by one: the leg between the edge and the bend is one longer, its neighbour one shorter."""
    looked_at = list(plans()[name]["steps"])
    assert looked_at
    for step in looked_at:
        told, on = step["correction"], step["gauged_on"]["on"]
        if on == "flange":
            continue
        legs = [0.0] * len(WANTED[name]["section"]["legs"])
        bend = step["bends"][0]
        near, far = (bend - 1, bend) if on == "start" else (bend, bend - 1)
        legs[near], legs[far] = 1.0, -1.0
        # Where a later step gauges on a flange, the neighbour keeps its size and a leg beyond it gives way.
        assert told["legs_per_mm"][near] == 1.0 and sum(told["legs_per_mm"]) == 0
        if all(other["gauged_on"]["on"] != "flange" for other in plans()[name]["steps"]):
            assert told["legs_per_mm"] == legs
        assert (told["leg"], told["x_per_mm"]) == (near + 1, -1.0)
        assert told["nominal_mm"] == pytest.approx(in_mm(name, WANTED[name]["section"]["legs"][near]))
        (error,) = (each for each in plans()[name]["leg_errors"] if each["leg"] == near + 1)
        assert told["plus_minus_mm"] == error["allowed_mm"]
        assert error["statistical_mm"] < error["worst_mm"]
