"""Sheets made by hand for the tests: a channel 25 | 60 | 25, and random sections. All data invented."""

import math
import random
import re
from dataclasses import is_dataclass, replace
from functools import cache
from typing import Any

from flangewise.bend import Allowance, Spread
from flangewise.clearance import Body, Outline
from flangewise.part import Part, Section, WantedBend
from flangewise.pattern import BendZone, FlatFace, FlatHole, FlatPattern
from flangewise.punch_die import Mounting, Pair, PunchDie, SegmentUse, Station
from flangewise.sequence import FoldedSection, Gauging, Step, StrokeMoment
from flangewise.setup import Correction, Load, PlannedHit, Setup, SetupStep, Stops
from flangewise.setup.ram import Crowned, OpenHeight, RamSpeed
from flangewise.setup.step import RamSettings
from flangewise.sheet import Attachment, Measure, SheetData, SheetStep, Wording
from flangewise.shop import Shop, load_shop
from flangewise.words import phrase

from .folding import Fold, Side, laid

OPENING_MM, DIE_DEG = 12.0, 86.0


@cache
def shop() -> Shop:
    """The example shop, for its rows."""
    return load_shop()


def wording(lang: str = "en", units: str = "mm") -> Wording:
    """Words and numbers for the example shop's small machine: hundredths, tenths of a degree, whole openings."""
    return Wording(shop().machines["bench-310"], lang, units)


def hole(
    number: int, face: int, centre_mm: tuple[float, float], diameter_mm: float | None, size_mm: Any = None
) -> FlatHole:
    """A hole on the blank."""
    return FlatHole(number, face, centre_mm, diameter_mm, size_mm)


def pair(**changes: Any) -> PunchDie:
    """A punch 100 high with a nose of 1 on a die 60 high with V 12; rated 600 and 500 kN/m."""
    punch = shop().punches["straight-88"].model_copy(update={"height_mm": 100.0, "load_kn_per_m": 600.0, **changes})
    die = shop().dies["vee-12-85"].model_copy(update={"height_mm": 60.0, "load_kn_per_m": 500.0})
    return PunchDie(Pair(punch, die, "bend", 1.0, 12.0, 1.2), "bend", deg_per_mm=17.5)


def station(from_mm: float, to_mm: float, punch_mm: tuple[float, ...], die_mm: tuple[float, ...]) -> Station:
    """A station of the pair, its segments from left to right."""
    punch, die = (tuple(SegmentUse(each) for each in lengths) for lengths in (punch_mm, die_mm))
    return Station("straight-88", "vee-12-85", False, from_mm, to_mm, punch, from_mm, to_mm, die)


def with_step(sheet: SheetData, index: int, **changes: Any) -> SheetData:
    """The sheet with one step changed; what is keyed in may be named as it stands in the set-up or its stops."""
    step = changed(sheet.steps[index], **changes)
    steps = (*sheet.steps[:index], step, *sheet.steps[index + 1 :])
    return replace(sheet, steps=steps, setup=replace(sheet.setup, steps=tuple(each.keyed for each in steps)))


def changed(step: SheetStep, **changes: Any) -> SheetStep:
    """A step with some of its values changed, wherever they stand."""
    if "marked_face" in changes:
        changes["marked_up"] = changes.pop("marked_face") == "up"
    own = {name: changes.pop(name) for name in list(changes) if name in SheetStep.__dataclass_fields__}
    if "hit" in changes:
        kind = {"pre-bend": "hem"}.get(changes["hit"], changes["hit"])
        changes["mounting"] = Mounting(replace(step.keyed.pair, kind=kind))
        del changes["hit"]
    keyed, left = _put(step.keyed, changes)
    assert not left, f"no such value in a step: {left}"
    return replace(step, keyed=keyed, **own)


def _put(record: Any, changes: dict[str, Any]) -> tuple[Any, set[str]]:
    """A record with values changed in it and in the records it holds, and the names that were found nowhere."""
    own = {name: changes[name] for name in changes if name in record.__dataclass_fields__}
    left = set(changes) - set(own)
    for name in ("planned", "step", "ram", "opening", "speed", "bow", "stops", "spread"):
        held = getattr(record, name, None)
        if name not in own and is_dataclass(held) and name in record.__dataclass_fields__:
            put, missing = _put(held, changes)
            own[name], left = put, left & missing
    return replace(record, **own), left


def with_tools(sheet: SheetData, *mountings: Mounting) -> SheetData:
    """The sheet with each step on a pair of its own, the stations the same."""
    steps = tuple(changed(step, mounting=each) for step, each in zip(sheet.steps, mountings, strict=False))
    return replace(sheet, steps=steps, setup=replace(sheet.setup, steps=tuple(each.keyed for each in steps)))


def blanked(sheet: SheetData, **changes: Any) -> SheetData:
    """The sheet with another blank."""
    return replace(sheet, pattern=replace(sheet.pattern, **changes))


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
        hole(1, 2, (40.0, 21.0 + 4.461 + 26.0), 6.5),
        hole(2, 1, (90.0, 10.0), None, (20.0, 8.0)),
    )
    return sheet_of(
        fold, (25.0, 60.0, 25.0), along_mm=180.0, holes=holes, order=((0, True, "operator"), (1, True, "backgauge"))
    )


@cache
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
            hole(number, leg + 1, (dice.uniform(diameter_mm / 2, along_mm - diameter_mm / 2), at_mm), diameter_mm)
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
    holes: tuple[FlatHole, ...],
    order: tuple[tuple[int, bool, Side], ...],
) -> SheetData:
    """A whole sheet for a folded section and an order of (bend, marked face up, where the start edge looks)."""
    bed_mm = max(920.0, along_mm + 100)
    pattern = pattern_of(fold, along_mm, holes)
    steps: list[SheetStep] = []
    done: frozenset[int] = frozenset()
    last: tuple[bool, Side] | None = None
    for number, (bend, up, start_at) in enumerate(order, start=1):
        turn_deg = abs(fold.turns_deg[bend])
        depth_mm = depth_for(turn_deg, fold.radii_mm[bend], fold.thickness_mm)
        before = laid(fold, pattern, done, bend, up=up, start_at=start_at, formed=False)
        after = laid(fold, pattern, done, bend, up=up, start_at=start_at, formed=True, depth_mm=depth_mm)
        x_mm = -min(across for across, _ in before.outline_mm)
        moves = () if last is None else (phrase("sheet.named", words="TURN 180° in the plane, same face up"),)
        keyed = keyed_of(number, bend, turn_deg, up=up, x_mm=x_mm, depth_mm=depth_mm, from_mm=(bed_mm - along_mm) / 2)
        z_mm = (keyed.part_from_mm + along_mm * 0.2, keyed.part_from_mm + along_mm * 0.8)
        steps.append(
            SheetStep(
                keyed=replace(
                    keyed, stops=replace(keyed.stops, z_mm=z_mm), correction=own_leg(bend, legs_mm, step=number)
                ),
                zones=(pattern.zones[bend],),
                done=tuple(str(each + 1) for each in sorted(done)),
                start_at=start_at,
                before=before,
                after=after,
                bodies=(
                    Body("punch", straight_punch(depth_mm), True),
                    Body("die", vee_die(), False),
                    Body("finger", finger(x_mm, 0.5), False),
                ),
                moves=moves,
                new_load=(up, start_at) != last,
                moments=(
                    StrokeMoment(keyed.ram.opening.open_height_mm, before.outline_mm, 0.0),
                    StrokeMoment(fold.thickness_mm, before.outline_mm, 0.0),
                    StrokeMoment(-depth_mm, after.outline_mm, turn_deg),
                ),
            )
        )
        last = (up, start_at)
        done = done | {bend}
    widest = max(range(len(fold.turns_deg)), key=lambda leg: fold.flats_mm[leg])
    everything = frozenset(range(len(fold.turns_deg)))
    segments = (110.0, 60.0, 15.0) if along_mm == 180 else (round(along_mm + 5, 1),)
    place = station(bed_mm / 2 - sum(segments) / 2, bed_mm / 2 + sum(segments) / 2, segments, segments[::-1])
    setup = Setup(tuple(step.keyed for step in steps), (place,), 0, 31.0, 0.0, 1, 0.0, ())
    bends = tuple(WantedBend(bend + 1, abs(turn), away=turn < 0) for bend, turn in enumerate(fold.turns_deg))
    return SheetData(
        part=Part(
            name="rain-gauge-foot",
            material="DC01",
            thickness_mm=fold.thickness_mm,
            section=Section(along_mm, legs_mm, bends, None, "outside", ()),
            file="",
            title="Foot of a rain gauge",
            revision="B",
            drawing="TL-0412 rev B",
            job="2241",
            due="2031-03-01",
            quantity=120,
            spares=3,
            grain="across",
            burr="marked",
            film="other",
        ),
        material=shop().materials["DC01"],
        thickness_tolerance_mm=0.13,
        pattern=pattern,
        setup=setup,
        machine=shop().machines["bench-310"].model_copy(update={"bed_length_mm": bed_mm}),
        handler=shop().handlers["operator"],
        steps=tuple(steps),
        finished=laid(fold, pattern, everything, widest, up=True, start_at="operator", formed=False),
        loads=(
            Load(phrase("sheet.named", words="die vee-12-85"), 102.0, 500.0, "kn_per_m", 1),
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
        findings=(),
        attachments=(Attachment("plan.json", b"{}", phrase("sheet.named", words="plan")),),
    )


def pattern_of(fold: Fold, along_mm: float, holes: tuple[FlatHole, ...]) -> FlatPattern:
    """The blank of a fold: faces and zones one after the other."""

    def strip(start: float, end: float) -> tuple[tuple[float, float], ...]:
        return ((0.0, start), (along_mm, start), (along_mm, end), (0.0, end))

    starts = [fold.flat_from_mm(leg) for leg in range(len(fold.flats_mm))]
    faces = tuple(
        FlatFace(leg, strip(start, start + flat_mm))
        for leg, (start, flat_mm) in enumerate(zip(starts, fold.flats_mm, strict=True), start=1)
    )
    zones = tuple(
        BendZone(
            bend=bend + 1,
            label=str(bend + 1),
            face_from=bend + 1,
            face_to=bend + 2,
            line_mm=((0.0, fold.line_mm(bend)), (along_mm, fold.line_mm(bend))),
            turn_deg=abs(turn),
            toward=turn > 0,
            inside_radius_mm=fold.radii_mm[bend],
            allowance=Allowance("din-6935", fold.zones_mm[bend], 0.42, None, 3.54, 3.54, False, False),
        )
        for bend, turn in enumerate(fold.turns_deg)
    )
    area_mm2 = along_mm * fold.developed_mm
    mass_kg = area_mm2 * fold.thickness_mm * 7.85e-6
    outline = strip(0.0, fold.developed_mm)
    return FlatPattern(
        "rain-gauge-foot", fold.thickness_mm, faces, zones, outline, holes, area_mm2,
        mass_kg, (), fold.developed_mm, along_mm,
    )  # fmt: skip


def keyed_of(
    number: int, bend: int, turn_deg: float, *, up: bool, x_mm: float, depth_mm: float, from_mm: float
) -> SetupStep:
    """What is keyed in for a bend (from 0), figures invented but for X and depth."""
    step = Step(
        operation=bend,
        label=str(bend + 1),
        option=0,
        stacks=(),
        marked_up=up,
        behind="end",
        gauged=Gauging("start", None, x_mm, 0.5, 0.0, 0.0),
        moves=(),
        tool_changed=False,
        done=0,
        cost=11.0,
        clearance_mm=3.2,
        lift_mm=None,
        open_height_mm=None,
        opening_reason=None,
        opening_piece=None,
        side_exit=False,
        least_opening_mm=0.0,
        reach_mm=0.0,
        hold=None,
        wishes_s=(),
        before=FoldedSection((), ()),
        after=FoldedSection((), ()),
    )
    hit = PlannedHit(number, step, WantedBend(bend + 1, turn_deg, away=not up), Mounting(pair()))
    opening = OpenHeight(86.0, phrase("sheet.named", words="flange 25 of bend 1 must pass under the punch"))
    bow = Crowned(None, 0.05, None, None)
    return SetupStep(
        planned=hit,
        moves=(),
        station=station(0.0, 180.0, (180.0,), (180.0,)),
        part_from_mm=from_mm,
        gauged_bend=None,
        stops=Stops(x_mm, 0.5, (), 5.0),
        ram=RamSettings(depth_mm, 180 - turn_deg - 1.6, opening, 6.0, RamSpeed(10.0, None), bow),
        force_kn=18.4,
        seconds_s=11.0,
        spread=Spread(0.9, 0.5, 0.3, 0.2, (), "model"),
    )


def cells(html: str) -> dict[str, str]:
    """What stands under each heading of a printed sheet or of a piece of one, the last where a heading comes twice."""
    return dict(re.findall(r"<div[^>]*><b>([^<]*)</b><span>([^<]*)</span></div>", html))
