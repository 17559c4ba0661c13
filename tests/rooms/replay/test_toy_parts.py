"""Parts with answers known by reasoning, through the command line: the toy shop as a folder, real radii and over-bend.

Every feasible plan is stepped through by the replay as well. Legs are given by their middle-surface lengths, to which
half a thickness is added at each 90 degree bend for the outside size. Limits are worked out here for the radius that
forms and the turn under load, by placing the leg that swings.
"""

import json
import math
from pathlib import Path

import pytest

from flangewise.commands import run

SHOP = Path(__file__).parents[1] / "shop" / "toy_shop"
T = 1.5


@pytest.fixture
def plan(tmp_path, capsys):
    """Plans a part given by middle-surface legs and signed turns, and replays what it got."""

    def planned(legs, turns, *, punch="straight-84", die="block-12"):
        outside = [leg + T / 2 * ((index > 0) + (index < len(turns))) for index, leg in enumerate(legs)]
        bends = [f"{{turn: {abs(turn)}, away: {str(turn < 0).lower()}, punch: {punch}, die: {die}}}" for turn in turns]
        file = tmp_path / "part.yaml"
        file.write_text(
            f"part: toy\nmaterial: toy\nthickness: {T}\nsection:\n  length: 200\n  legs: {outside}\n"
            f"  bends: [{', '.join(bends)}]\n"
        )
        run(["--shop", str(SHOP), "plan", str(file), "--format", "json"])
        answer = json.loads(capsys.readouterr().out)
        if answer["feasible"]:
            saved = tmp_path / "plan.json"
            saved.write_text(json.dumps(answer))
            status = run(["--shop", str(SHOP), "plan", str(file), "--replay", str(saved), "--format", "json"])
            replayed = json.loads(capsys.readouterr().out)
            assert (status, replayed["findings"]) == (0, [])
        return answer

    return planned


def order(answer):
    return [step["bends"][0] for step in answer["steps"]]


def formed(answer):
    """Radius that forms and half the turn under load, as the plan tells them, of its first step."""
    step = answer["steps"][0]
    return answer["blank"], math.radians(180.0 - step["bend_to_deg"]) / 2


def test_a_leg_shorter_than_the_opening_allows(plan):
    # V 12: 0.707 V = 8.5 outside at sharp shoulders; friction and radius move it by under a millimetre.
    assert plan([7.0, 50.0], [90])["feasible"] is False
    assert plan([9.5, 50.0], [90])["feasible"] is True


def reach(web, radius, half):
    """Where the free end of a finished leg of a channel stands when the second bend is fully loaded.

    Gives a function of the leg's middle-surface length: the outer corner of its end, across from the punch's middle
    and up from its nose. The finished corner is a right angle of the formed radius; `half` is half the loaded turn.
    """
    middle = radius + T / 2
    short = radius + T / 2  # from a mould corner of the middle surface to the end of its arc, at 90 degrees

    def tip(leg):
        # From the middle of the swinging zone: half its arc, the web's flat, the finished arc, the leg's flat.
        across, up = middle * math.sin(half), middle * (1 - math.cos(half))
        flat = web - 2 * short
        across, up = across + flat * math.cos(half), up + flat * math.sin(half)
        heading = half + math.pi / 2
        across += middle * (math.sin(heading) - math.sin(half))
        up += middle * (math.cos(half) - math.cos(heading))
        rest = leg - short
        across, up = across + rest * math.cos(heading), up + rest * math.sin(heading)
        # The end's inner corner, half a thickness toward the punch; the nose stands half a thickness over the middle.
        return across - T / 2 * math.sin(heading), up + T / 2 * math.cos(heading) - T / 2

    return tip


@pytest.mark.parametrize("web", [30.0, 60.0])
def test_a_channels_leg_ends_beside_the_punch(plan, web):
    easy = plan([9.5, web, 9.5], [90, 90])
    half = math.radians(180.0 - easy["steps"][0]["bend_to_deg"]) / 2
    tip = reach(web, _radius(plan), half)
    # The punch is 10 to each side: the leg may be so long that its end just stands there.
    legs = [leg / 100 for leg in range(900, 6000)]
    limit = max(leg for leg in legs if tip(leg)[0] >= 10.0)
    assert plan([limit - 0.5, web, limit - 0.5], [90, 90])["feasible"] is True
    assert plan([limit + 1.5, web, limit + 1.5], [90, 90])["feasible"] is False


def _radius(plan):
    """The radius the pair forms, read off the blank of a simple angle: deductions say it, but the plan's depth does.

    depth = (V/2) tan a - (r + rd)(sec a - 1) - t sec a, solved for r.
    """
    step = plan([30.0, 30.0], [90])["steps"][0]
    a = math.radians(180.0 - step["bend_to_deg"]) / 2
    return (6.0 * math.tan(a) - step["depth_mm"] - T / math.cos(a)) / (1 / math.cos(a) - 1) - 0.5


def test_a_narrow_channel_needs_the_relieved_punch(plan):
    assert plan([40.0, 30.0, 40.0], [90, 90])["feasible"] is False
    relieved = plan([40.0, 30.0, 40.0], [90, 90], punch="goose-84")
    assert relieved["feasible"] is True
    first, last = relieved["steps"]
    # The finished leg is in front, on the relieved side, unless the punch is turned.
    behind = last["gauged_on"]["on"]
    finished_end = "start" if first["bends"] == [1] else "end"
    assert (behind != finished_end) is not last["punch_turned"]


def test_a_z_needs_one_turn_over(plan):
    answer = plan([30.0, 25.0, 30.0], [90, -90])
    assert answer["feasible"] is True
    assert answer["totals"]["turn_overs"] == 1


def test_a_z_narrower_than_the_die_block_is_proven_impossible(plan):
    # The flange hangs beside a block 20 from the middle: 20.7 for sharp corners, more than a millimetre less here.
    answer = plan([30.0, 19.0, 30.0], [90, -90])
    assert answer["feasible"] is False
    assert any(finding["severity"] == "refuse" and finding["bodies"] for finding in answer["findings"])


def test_a_z_of_unequal_flanges_begins_with_the_short_one(plan):
    assert order(plan([70.0, 40.0, 30.0], [90, -90])) == [2, 1]


def test_a_hat_is_bent_outer_before_inner_with_one_turn_over(plan):
    answer = plan([20.0, 28.0, 50.0, 28.0, 20.0], [-90, 90, 90, -90])
    made = order(answer)
    assert made.index(1) < made.index(2)
    assert made.index(4) < made.index(3)
    assert answer["totals"]["turn_overs"] == 1


def test_a_hat_with_legs_too_long_for_its_top(plan):
    assert plan([20.0, 38.0, 50.0, 38.0, 20.0], [-90, 90, 90, -90])["feasible"] is False


def test_a_lipped_channel_wants_a_wide_web_and_no_turn_over(plan):
    wide = plan([15.0, 40.0, 100.0, 40.0, 15.0], [90, 90, 90, 90])
    made = order(wide)
    assert wide["totals"]["turn_overs"] == 0
    assert made.index(1) < made.index(2)
    assert made.index(4) < made.index(3)
    assert plan([15.0, 40.0, 62.0, 40.0, 15.0], [90, 90, 90, 90])["feasible"] is False


def test_a_closed_box_section_is_proven_impossible(plan):
    assert plan([30.0, 40.0, 60.0, 40.0, 30.0], [90, 90, 90, 90])["feasible"] is False


def test_a_spiral_is_bent_inside_out(plan):
    assert order(plan([100.0, 80.0, 40.0, 12.0], [90, 90, 90])) == [3, 2, 1]
    assert plan([60.0, 40.0, 22.0, 12.0], [90, 90, 90])["feasible"] is False


def test_a_zigzag_grows_as_one_run(plan):
    answer = plan([62.0, 70.0, 70.0, 70.0, 62.0], [90, -90, 90, -90])
    made = order(answer)
    assert all(max(made[:n]) - min(made[:n]) == n - 1 for n in range(1, 5))
    assert answer["totals"]["turn_overs"] == 2


def test_the_tools_angle_less_the_springback_is_the_sharpest_bend(plan):
    # 84 degree tools: 96 of turn under load; mild sheet of 1.5 in V 12 springs back by one to two degrees.
    assert plan([40.0, 40.0], [93])["feasible"] is True
    assert plan([40.0, 40.0], [98])["feasible"] is False
