"""How the part is held at every hit of every plan, against polygons of the test's own: masses, moments, cautions.

The part on the die is drawn as rectangles and rings cut from the chain's numbers, each piece as heavy as its developed
sheet, and cut at the die's centre plane; the block's edges come from the shop's outline of the die.
"""

from __future__ import annotations

import math
import random
import re
from dataclasses import dataclass, replace
from typing import Any

import pytest
import shapely
import yaml
from shapely import affinity

from flangewise.geometry import Chain
from flangewise.jobs import Job, worked_out
from flangewise.jobs.printed import printed
from flangewise.part import read_part
from flangewise.sequence import Hold, Step
from flangewise.sheet import Identity, Printing
from flangewise.sheet.render import html_of
from flangewise.shop import Shop

from ..how_many import one_in
from ..sentence import FIGURE, sentences_in
from .sections import shop

SECTIONS, CHUNKS = 100, 4
CODES = {"hold-little-in-front", "hold-behind", "hold-little-and-behind"}
# A die of about eight times the sheet and one punch for it: a bench's own, so that a plan is soon found.
DIES = {
    0.5: "vee-6-30",
    0.8: "vee-6-30",
    1.0: "vee-8-30",
    1.5: "vee-12-80",
    2.0: "vee-16-80",
    3.0: "vee-25-80",
    4.0: "vee-32-78",
    5.0: "vee-40-78",
    6.0: "vee-50-78",
}
GRAVITY = 9.81


def rack(thickness_mm: float) -> Shop:
    """The built-in shop with one die and one punch."""
    whole, die = shop(), DIES[thickness_mm]
    punch = "acute-60" if thickness_mm <= 2 else "straight-80-nose-3"
    return replace(whole, dies={die: whole.dies[die]}, punches={punch: whole.punches[punch]})


# --- the test's own picture


@dataclass(frozen=True)
class Lies:
    """What the polygons say: masses in front of the centre plane and behind it, the moment off the block's edge."""

    front_kg: float
    behind_kg: float
    far_mm: float
    moment_nm: float
    tips: str | None


def pieces(chain: Chain, step: Step, zone: int, kg_per_mm: float) -> list[tuple[shapely.Polygon, float]]:
    """The part flat on the die with the bends of `done` made: polygons with their masses, the front at +x."""
    up = 1.0 if step.marked_up else -1.0
    half_mm, half_zone = chain.thickness_mm / 2, chain.zones_mm[zone] / 2
    found = [(shapely.box(-half_zone, -half_mm, half_zone, half_mm), kg_per_mm * 2 * half_zone)]
    for toward_end in (True, False):
        at, heading = (half_zone, 0.0), 0.0
        own: list[tuple[shapely.Polygon, float]] = []
        flat = zone + 1 if toward_end else zone
        beyond = list(range(zone + 1, chain.bends)) if toward_end else list(range(zone - 1, -1, -1))
        for other in (None, *beyond):
            if other is not None:
                formed = step.done >> other & 1
                turn = up * chain.turns_deg[other] if formed else 0.0
                radius = chain.radii_mm[other] + half_mm
                piece = (
                    ring(radius, turn, half_mm) if turn else shapely.box(0, -half_mm, chain.zones_mm[other], half_mm)
                )
                own.append((placed(piece, at, heading), kg_per_mm * chain.zones_mm[other]))
                side = math.copysign(1.0, turn)
                dx = radius * math.sin(math.radians(abs(turn))) if turn else chain.zones_mm[other]
                dy = side * radius * (1 - math.cos(math.radians(turn))) if turn else 0.0
                at, heading = beyond_of(at, heading, dx, dy), heading + turn
                flat = other + 1 if toward_end else other
            length = chain.flats_mm[flat]
            own.append((placed(shapely.box(0, -half_mm, length, half_mm), at, heading), kg_per_mm * length))
            at = beyond_of(at, heading, length, 0.0)
        in_front = toward_end == (step.behind == "start")
        found += own if in_front else [(affinity.scale(piece, -1, 1, origin=(0, 0)), mass) for piece, mass in own]
    return found


def ring(radius_mm: float, turn_deg: float, half_mm: float) -> shapely.Polygon:
    """A formed zone leaving the origin along +x: a sector cut from two circles."""
    centre = shapely.Point(0, math.copysign(radius_mm, turn_deg))
    band = centre.buffer(radius_mm + half_mm, quad_segs=90).difference(centre.buffer(radius_mm - half_mm, quad_segs=90))
    begin = -math.copysign(math.pi / 2, turn_deg)
    angles = [begin + math.radians(turn_deg) * share / 12 for share in range(13)]
    far = 3 * (radius_mm + half_mm)
    fan = [(centre.x + far * math.cos(angle), centre.y + far * math.sin(angle)) for angle in angles]
    return band.intersection(shapely.Polygon([(centre.x, centre.y), *fan]))


def placed(piece: shapely.Polygon, at: tuple[float, float], heading_deg: float) -> shapely.Polygon:
    return affinity.translate(affinity.rotate(piece, heading_deg, origin=(0, 0)), *at)


def beyond_of(at: tuple[float, float], heading_deg: float, dx: float, dy: float) -> tuple[float, float]:
    cos, sin = math.cos(math.radians(heading_deg)), math.sin(math.radians(heading_deg))
    return at[0] + dx * cos - dy * sin, at[1] + dx * sin + dy * cos


def block_edges(job: Job, step: Step) -> tuple[float, float]:
    """Back and front of the die block's top, as the shop draws the die."""
    outline = shapely.Polygon(job.shop.dies[step.stacks[0].die].outline_mm.drawn_mm())
    _, _, _, top = outline.bounds
    low, _, high, _ = outline.intersection(shapely.box(-1000, top - 0.5, 1000, top)).bounds
    return low, high


def lying(job: Job, step: Step) -> Lies:
    """How a part lies by its polygons."""
    assert job.ordered is not None
    chain = job.ordered.problem.chain
    density = job.material.density_kg_per_m3 * 1e-9
    kg_per_mm = density * chain.thickness_mm * job.part.section.length_mm
    (zone,) = job.ordered.problem.operations[step.operation].zones
    found = pieces(chain, step, zone, kg_per_mm)
    sides, moments = {1: 0.0, -1: 0.0}, 0.0
    for piece, mass in found:
        moments += mass * piece.centroid.x
        for side, half in ((1, shapely.box(0, -5000, 5000, 5000)), (-1, shapely.box(-5000, -5000, 0, 5000))):
            sides[side] += mass * piece.intersection(half).area / piece.area
    whole = sides[1] + sides[-1]
    low, high = block_edges(job, step)
    centre = moments / whole
    behind, ahead = max(low - centre, 0.0), max(centre - high, 0.0)
    tips = "behind" if behind else "front" if ahead else None
    far = max(piece.bounds[2] for piece, _ in found)
    return Lies(sides[1], sides[-1], far, max(behind, ahead) * whole * GRAVITY / 1000, tips)


# --- what must hold


def agrees(job: Job, step: Step) -> None:
    """The plan's figures are the polygons', within 1 %."""
    hold, own = step.hold, lying(job, step)
    assert hold is not None
    assert (hold.front_kg, hold.behind_kg) == pytest.approx((own.front_kg, own.behind_kg), rel=0.01)
    # A hundredth of a mm of the middle's place is more than drawn arcs are off by.
    near_nm = (own.front_kg + own.behind_kg) * GRAVITY * 0.01 / 1000
    assert hold.moment_nm == pytest.approx(own.moment_nm, rel=0.01, abs=near_nm)
    assert hold.tips == own.tips or max(hold.moment_nm, own.moment_nm) <= near_nm
    # The middle of the sheet, where the polygon goes on by half a thickness at most.
    assert own.far_mm - job.part.thickness_mm / 2 - 0.02 <= hold.front_mm <= own.far_mm + 0.02


def keeps_the_rule(job: Job, step: Step, hold: Hold) -> bool:
    """By the handler's row alone: enough in front, unless it is too small for a hand at all, and little behind."""
    assert job.ordered is not None
    chain, handler = job.ordered.problem.chain, job.handler
    (zone,) = job.ordered.problem.operations[step.operation].zones
    to_start = sum(chain.flats_mm[: zone + 1]) + sum(chain.zones_mm[:zone]) + chain.zones_mm[zone] / 2
    to_end = sum(chain.flats_mm) + sum(chain.zones_mm) - to_start
    is_small = handler.kind == "operator" and max(to_start, to_end) < handler.least_hold_mm
    enough = is_small or hold.front_mm >= handler.least_hold_mm - 1e-6
    return enough and not (hold.tips == "behind" and hold.moment_nm > handler.most_behind_nm + 1e-9)


def held_or_told(job: Job) -> int:
    """Every step keeps the rule or has its caution, and only those; how many have one."""
    assert job.feasible and job.ordered is not None
    told = {found.place() for found in job.findings if found.code in CODES}
    broken = set()
    for number, step in enumerate(job.ordered.solution.steps, start=1):
        agrees(job, step)
        assert step.hold is not None
        if not keeps_the_rule(job, step, step.hold):
            broken.add(f"step {number}")
            assert step.hold.breach > 0 and step.hold.by in ("support", "tool")
    assert told == broken
    return len(broken)


# --- random sections


def section(number: int) -> dict[str, Any]:
    """A section of 2 to 6 bends whose legs all reach across the die."""
    dice = random.Random(8000 + number)
    bends = dice.choice((2, 2, 2, 2, 2, 3)) if number % 25 else dice.choice((4, 5, 6))
    thickness = dice.choice(tuple(DIES))
    least = 0.75 * float(DIES[thickness].split("-")[1]) + 2.5 * thickness
    # Small parts, parts with short and long legs, large ones.
    spans = dice.choice((((0, 30),), ((0, 20), (30, 120), (150, 600)), ((60, 250), (200, 700))))
    legs = [round(least + dice.uniform(*dice.choice(spans)), 1) for _ in range(bends + 1)]
    turns = [dice.choice((1, 1, -1)) * dice.choice((30, 45, 60, 90, 90, 90)) for _ in range(bends)]
    length = round(dice.choice((dice.uniform(100, 400), dice.uniform(300, 1000), dice.uniform(900, 2500))))
    return {
        "part": f"section-{number}",
        "material": dice.choice(("DC01", "DC04", "S235JR")),
        "thickness": thickness,
        "machine": "long-1450",
        "handler": dice.choice(("operator", "operator-heavy", "robot")),
        "section": {
            "length": length,
            "legs": legs,
            "bends": [{"turn": abs(turn), "away": turn < 0} for turn in turns],
        },
    }


def planned(told: dict[str, Any], stock: Shop) -> Job:
    return worked_out(read_part(yaml.safe_dump(told), "part.yaml", stock), stock)


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_every_step_keeps_the_hold_rule_or_carries_its_caution(chunk: int) -> None:
    made = 0
    # Every 25th is a part of many bends: all four of those are among the half that is taken.
    for number in range(chunk, SECTIONS, CHUNKS)[:: one_in(8)]:
        told = section(number)
        job = planned(told, rack(told["thickness"]))
        if job.feasible:
            made += 1
            held_or_told(job)
    assert made >= 15 // one_in(8), "the sections no longer show what they are here for"


# --- parts by name


def test_a_narrow_channel_for_a_gripper_is_told_at_every_hit() -> None:
    """20/30/20: jaws that want 60 find 50 of sheet in front of the far bend at best; a hand has a tool for it."""
    told = {
        "part": "narrow",
        "material": "DC01",
        "thickness": 2.0,
        "machine": "long-1450",
        "section": {"length": 200, "legs": [20, 30, 20], "bends": [{"turn": 45}, {"turn": 45}]},
    }
    assert held_or_told(planned({**told, "handler": "robot"}, rack(2.0))) == 2
    by_hand = planned({**told, "handler": "operator"}, rack(2.0))
    assert held_or_told(by_hand) == 0 and by_hand.ordered is not None
    assert {step.hold.by for step in by_hand.ordered.solution.steps if step.hold is not None} == {"tool"}


def test_a_wide_sheet_that_must_lie_behind_is_told_with_what_it_tips() -> None:
    """A heavy angle whose short leg the setter wants in front: no order avoids what hangs behind."""
    told = {
        "part": "wide",
        "material": "S235JR",
        "thickness": 3.0,
        "machine": "long-1450",
        "handler": "operator",
        "section": {"length": 1500, "legs": [70, 500], "bends": [{"turn": 90, "gauge": "end"}]},
    }
    job = planned(told, rack(3.0))
    assert held_or_told(job) == 1
    (found,) = [each for each in job.findings if each.code in CODES]
    assert found.code == "hold-behind"
    # Steel of 7.85 t/m3: 500 mm of leg less 6 for the corner lie behind the die's middle, 70 less 6 in front; bent up
    # to half a zone more or less. The sheet and the caution both name what lies behind, never what lies in front.
    behind_kg, front_kg = ((leg - 4) * 1500 * 3 * 7.85e-6 for leg in (500, 70))
    # It tips over the back edge of the block of 36 mm, 18 behind the middle.
    edge_m = 0.018
    moment_nm = GRAVITY * (behind_kg * (0.248 - edge_m) - front_kg * (0.033 + edge_m))
    page = html_of(printed(job), Identity("plan", "version"), Printing(html=True), record=None)
    looks = {"front": FIGURE, "behind_kg": f"{FIGURE} kg", "moment_nm": f"{FIGURE} N m"}
    (on_the_sheet,) = sentences_in(page, "sheet.step.hold-tips", **looks)
    assert [float(each.split()[0]) for each in on_the_sheet.group(*looks)] == [
        pytest.approx(70 - 4, abs=2),
        pytest.approx(behind_kg, rel=0.01),
        pytest.approx(moment_nm, rel=0.02),
    ]
    told_kg, told_nm = (float(each) for each in re.findall(r"([\d.]+) kg hang .* with ([\d.]+) N m", found.text())[0])
    assert (told_kg, told_nm) == (pytest.approx(behind_kg, rel=0.01), pytest.approx(moment_nm, rel=0.02))


@pytest.mark.parametrize(
    ("legs", "bends", "length", "thickness"),
    [([12, 500, 12], [90, 90], 900, 1.5), ([9, 80], [90], 900, 1.0)],
    ids=["channel-12-500-12", "angle-9-80"],
)
def test_the_long_side_lies_in_front_at_first(
    legs: list[float], bends: list[int], length: int, thickness: float
) -> None:
    told = {
        "part": "named",
        "material": "DC01",
        "thickness": thickness,
        "section": {"length": length, "legs": legs, "bends": bends},
    }
    job = planned(told, shop())
    assert job.feasible and job.ordered is not None
    assert held_or_told(job) == 0
    first = job.ordered.solution.steps[0].hold
    assert first is not None and first.front_kg > 0.8 * (first.front_kg + first.behind_kg)
    assert first.front_mm >= max(legs) * 0.9


def test_a_purlin_of_16_kg_is_held_or_its_moment_told() -> None:
    """2400 long, some 287 wide, 3 thick: where less than 60 lies in front or it tips, the caution says how much."""
    told = {
        "part": "purlin",
        "material": "DC01",
        "thickness": 3.0,
        "section": {"length": 2400, "legs": [22, 64, 138, 64, 22], "bends": [90, 90, 90, 90]},
    }
    job = planned(told, shop())
    assert job.feasible and job.ordered is not None and job.pattern is not None
    assert job.pattern.developed_mm == pytest.approx(287, abs=3) and job.pattern.mass_kg == pytest.approx(16, abs=0.5)
    held_or_told(job)
    for number, step in enumerate(job.ordered.solution.steps, start=1):
        assert step.hold is not None
        if step.hold.front_mm < 60 or (step.hold.tips == "behind" and step.hold.moment_nm > 3):
            (found,) = [each for each in job.findings if each.code in CODES and each.place() == f"step {number}"]
            figures = dict(found.phrase.values)
            assert figures["moment_nm"] == pytest.approx(lying(job, step).moment_nm, rel=0.01)
