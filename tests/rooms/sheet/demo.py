"""Sheets made by hand for the tests: a channel 25 | 60 | 25, and random sections. All data invented."""

import math
import random

from flangewise.setup import Correction
from flangewise.sheet.data import (
    Attachment,
    BendLine,
    Blank,
    Body,
    Finish,
    Hole,
    Job,
    Load,
    MaterialCheck,
    Measure,
    Outline,
    Resolution,
    SheetData,
    Side,
    Station,
    Step,
    Tools,
)
from flangewise.words import phrase

from .folding import Fold, laid

OPENING_MM, DIE_DEG = 12.0, 86.0


def vee_die(opening_mm: float = OPENING_MM) -> Outline:
    """A plain block with a V."""
    half, deep = opening_mm / 2, opening_mm / 2 / math.tan(math.radians(DIE_DEG / 2))
    return (
        (-half, 0),
        (-opening_mm * 1.2, 0),
        (-opening_mm * 1.2, -60),
        (opening_mm * 1.2, -60),
        (opening_mm * 1.2, 0),
        (half, 0),
        (0, -deep),
    )


def straight_punch(depth_mm: float) -> Outline:
    """A narrow punch with a blunt nose, its nose at the given depth."""
    shape = (
        (0, 0),
        (1, 0.3),
        (6, 7),
        (6, 70),
        (10, 80),
        (10, 100),
        (-10, 100),
        (-10, 80),
        (-6, 70),
        (-6, 7),
        (-1, 0.3),
    )
    return tuple((across, up - depth_mm) for across, up in shape)


def finger(x_mm: float, r_mm: float) -> Outline:
    """A stop finger with its face at -x and its lower edge at r."""
    shape = ((0, 0), (0, 12), (-30, 12), (-60, 20), (-60, 8), (-20, 0))
    return tuple((across - x_mm, up + r_mm) for across, up in shape)


def depth_for(turn_deg: float, radius_mm: float, thickness_mm: float, opening_mm: float = OPENING_MM) -> float:
    """Depth at which sharp die edges carry the legs: plain geometry, good enough for a picture."""
    half = math.radians(min(turn_deg, 150) / 2)
    outer = radius_mm + thickness_mm
    return max(0.5, opening_mm / 2 * math.tan(half) - outer * (1 / math.cos(half) - 1) - thickness_mm)


def channel() -> SheetData:
    """The channel of the worked example: two flanges up, web 60, 2 mm sheet, one hole off centre."""
    fold = Fold((21.0, 52.0, 21.0), (4.461, 4.461), (90.0, 90.0), (2.0, 2.0), 2.0)
    holes = (
        Hole(1, 2, (40.0, 21.0 + 4.461 + 26.0), 6.5),
        Hole(2, 1, (90.0, 10.0), None, (20.0, 8.0)),
    )
    return sheet_of(
        fold, (25.0, 60.0, 25.0), along_mm=180.0, holes=holes, order=((0, True, "operator"), (1, True, "backgauge"))
    )


def random_sheet(seed: int) -> SheetData:
    """A section of one to six bends, any turns, holes here and there, bent in the order of the section."""
    dice = random.Random(seed)
    bends = dice.randint(1, 6)
    thickness_mm = dice.choice((0.8, 1.0, 1.5, 2.0, 3.0))
    radius_mm = thickness_mm
    turns = tuple(dice.choice((1, -1)) * dice.choice((30.0, 45.0, 90.0, 90.0, 90.0, 120.0)) for _ in range(bends))
    zones = tuple(math.radians(abs(turn)) * (radius_mm + 0.42 * thickness_mm) for turn in turns)
    flats = tuple(
        round(dice.uniform(8, 30) if dice.random() < 0.6 else dice.uniform(30, 300), 1) for _ in range(bends + 1)
    )
    fold = Fold(flats, zones, turns, (radius_mm,) * bends, thickness_mm)
    along_mm = round(10 ** dice.uniform(1.3, 3.3), 1)
    holes = []
    for number in range(1, dice.randint(1, 7)):
        leg = dice.randrange(bends + 1)
        diameter_mm = round(min(flats[leg] * 0.5, dice.uniform(2, 12), along_mm * 0.3), 1)
        at_mm = fold.flat_from_mm(leg) + dice.uniform(diameter_mm / 2, flats[leg] - diameter_mm / 2)
        holes.append(
            Hole(number, leg + 1, (dice.uniform(diameter_mm / 2, along_mm - diameter_mm / 2), at_mm), diameter_mm)
        )
    order = []
    for bend in range(bends):
        up = turns[bend] > 0
        order.append((bend, up, dice.choice(("operator", "backgauge"))))
    legs = tuple(flat + 4 for flat in flats)
    return sheet_of(fold, legs, along_mm=along_mm, holes=tuple(holes), order=tuple(order))


def own_leg(bend: int, legs_mm: tuple[float, ...], *, step: int) -> Correction:
    """A bend (from 0) gauged on the start edge over the flat: its leg grows with X, the next one shrinks."""
    rates = tuple({bend: 1.0, bend + 1: -1.0}.get(leg, 0.0) for leg in range(len(legs_mm)))
    return Correction(bend + 1, legs_mm[bend], 0.2, -1.0, rates, step)


def sheet_of(
    fold: Fold,
    legs_mm: tuple[float, ...],
    *,
    along_mm: float,
    holes: tuple[Hole, ...],
    order: tuple[tuple[int, bool, Side], ...],
) -> SheetData:
    """A whole sheet for a folded section and an order of (bend, marked face up, where the start edge looks)."""
    lines = tuple(
        BendLine(
            str(bend + 1),
            bend + 1,
            fold.line_mm(bend),
            (fold.line_mm(bend) - fold.zones_mm[bend] / 2, fold.line_mm(bend) + fold.zones_mm[bend] / 2),
            abs(turn),
            turn > 0,
            fold.radii_mm[bend],
            fold.zones_mm[bend],
            3.54,
            phrase("sheet.named", words="din-6935"),
        )
        for bend, turn in enumerate(fold.turns_deg)
    )
    from_mm = 460.0 - along_mm / 2
    bed_mm = max(920.0, along_mm + 100)
    from_mm = bed_mm / 2 - along_mm / 2
    steps: list[Step] = []
    done: frozenset[int] = frozenset()
    last: tuple[bool, Side] | None = None
    for number, (bend, up, start_at) in enumerate(order, start=1):
        turn_deg = abs(fold.turns_deg[bend])
        depth_mm = depth_for(turn_deg, fold.radii_mm[bend], fold.thickness_mm)
        before = laid(fold, done, bend, up=up, start_at=start_at, formed=False)
        after = laid(fold, done, bend, up=up, start_at=start_at, formed=True, depth_mm=depth_mm)
        x_mm = -min(across for across, _ in before.outline_mm)
        moves = () if last is None else (phrase("sheet.named", words="TURN 180° in the plane, same face up"),)
        steps.append(
            Step(
                number=number,
                bends=(str(bend + 1),),
                hit="bend",
                toward=fold.turns_deg[bend] > 0,
                turn_deg=turn_deg,
                marked_face="up" if up else "down",
                start_at=start_at,
                done=tuple(str(each + 1) for each in sorted(done)),
                gauged_on=phrase("sheet.named", words="start edge"),
                moves=moves,
                new_load=(up, start_at) != last,
                tools=0,
                station=0,
                part_from_mm=from_mm,
                before=before,
                after=after,
                bodies=(
                    Body("punch", straight_punch(depth_mm)),
                    Body("die", vee_die()),
                    Body("finger", finger(x_mm, 0.5)),
                ),
                x_mm=x_mm,
                r_mm=0.5,
                z_mm=(from_mm + along_mm * 0.2, from_mm + along_mm * 0.8),
                retract_mm=5.0,
                depth_mm=depth_mm,
                bend_to_deg=180 - turn_deg - 1.6,
                finished_deg=180 - turn_deg,
                open_height_mm=86.0,
                open_height_reason=phrase("sheet.named", words="flange 25 of bend 1 must pass under the punch"),
                slow_from_mm=6.0,
                ram_speed_mm_per_s=10.0,
                crowning_mm=0.05,
                force_kn=18.4,
                clearance_mm=3.2,
                seconds_s=11.0,
                deg_per_mm=17.5,
                spread_deg=0.9,
                spread_measured_deg=0.5,
                correction=own_leg(bend, legs_mm, step=number),
            )
        )
        last = (up, start_at)
        done = done | {bend}
    widest = max(range(len(fold.turns_deg)), key=lambda leg: fold.flats_mm[leg])
    everything = frozenset(range(len(fold.turns_deg)))
    segments = (110.0, 60.0, 15.0) if along_mm == 180 else (round(along_mm + 5, 1),)
    station = Station(bed_mm / 2 - sum(segments) / 2, bed_mm / 2 + sum(segments) / 2, segments, segments[::-1])
    return SheetData(
        job=Job(
            "rain-gauge-foot",
            "Foot of a rain gauge",
            "B",
            "TL-0412 rev B",
            "2241",
            "2031-03-01",
            120,
            3,
            "bench-310",
            "operator",
        ),
        material=MaterialCheck(
            "DC01", fold.thickness_mm, 0.13, 330.0, 230.0, "EN 10130", grain="across", burr="marked", film="other"
        ),
        blank=Blank(
            along_mm, fold.developed_mm, along_mm * fold.developed_mm * fold.thickness_mm * 7.85e-6, holes, lines
        ),
        tools=(
            Tools(
                "straight-88", "vee-12", False, 1.0, 88.0, 100.0, 600.0, 12.0, 12.0, 1.2, 86.0, 60.0, 500.0, (station,)
            ),
        ),
        steps=tuple(steps),
        loads=(
            Load(phrase("sheet.named", words="die vee-12"), 102.0, 500.0, "kn_per_m", 1),
            Load(phrase("sheet.named", words="machine"), 18.4, 310.0, "kn", 1),
        ),
        measures=tuple(
            Measure(
                phrase("place.bend", number=bend + 1),
                180 - abs(turn),
                0.5,
                "deg",
                phrase("sheet.named", words="bevel protractor"),
            )
            for bend, turn in enumerate(fold.turns_deg)
        )
        + tuple(
            Measure(
                phrase("place.leg", number=leg + 1),
                size_mm,
                0.2,
                "mm",
                phrase("sheet.named", words="caliper"),
                leg=leg + 1,
            )
            for leg, size_mm in enumerate(legs_mm)
        ),
        finish=Finish(
            laid(fold, everything, widest, up=True, start_at="operator", formed=False),
            legs_mm,
            False,
            tuple((str(bend + 1), 180 - abs(turn)) for bend, turn in enumerate(fold.turns_deg)),
        ),
        findings=(),
        resolution=Resolution(),
        bed_length_mm=bed_mm,
        handler_kind="operator",
        cycle_s=31.0,
        attachments=(Attachment("plan.json", b"{}", phrase("sheet.named", words="plan")),),
    )
