"""What speaks against a pair: loads, and in air bending angle, opening, radius, nose, legs, the range of the model.

Every judgement is a finding with its figure. Where its sentence ends in what would do, that is left empty and filled in
once all pairs are judged. Tools and holder are rated per metre of bend; the lower rules. A short bend loads bed and ram
in one place: the maker's own figure limits it, or else the rule that the full force is not put on less than 60 % of the
distance between the side frames (common practice). Off centre the drives share unevenly: F <= F_max/(1 + 2 e/s).
"""

import math
from collections.abc import Callable, Iterable, Iterator

from flangewise.findings import Finding, caution, note, refuse
from flangewise.punch_die.pair import BendWish, Pair, PunchDie, Stock, Tooling
from flangewise.records import altered
from flangewise.shop import Machine, Material, table_radius_mm
from flangewise.words import Phrase, Value, phrase

REMEDY = "remedy"
LEAST_OPENING_SHARE = 5.0  # V below 5 t is outside what the model was compared with (finite-element bends at 6 to 12 t)
MOST_OPENING_SHARE = 16.0  # V above 16 t likewise
SHARP_SHARE = 0.63
"""A bend turns sharp where the radius falls below about 63 % of the thickness (common practice, from memory)."""
RADIUS_OFF_SHARE = 0.2  # a formed radius further than 20 % from the one wanted is told
MOST_VERIFIED_TURN_DEG = 120.0
MOST_VERIFIED_NOSE_SHARE = 0.25
LEAST_WIDTH_SHARE = 8.0  # below a width of 8 t the sheet no longer bends in plane strain
HIGH_TENSILE_MPA = 600.0
THICK_MM = 6.0  # a sheet as hard or thick as these may crack over a small radius, and pieces fly (common practice)
SHARP = ("nose-sharp", "nose-too-sharp", "radius-under-least")
"""What is told of a radius too small for the sheet, by how the codes begin."""
NEAR_SHARE = 0.8
"""From 80 % of a rating on the user is told: thickness and strength of the sheet scatter (common practice)."""


def refuse_for_now(code: str, where: Phrase | None, **values: Value) -> Finding:
    """A refusal with room for a remedy."""
    return refuse(code, where, remedy="", **values)


def caution_for_now(code: str, where: Phrase | None, **values: Value) -> Finding:
    """A caution with room for a remedy."""
    return caution(code, where, remedy="", **values)


def wants_remedy(finding: Finding) -> bool:
    """Whether the finding has room for a remedy."""
    return any(name == REMEDY for name, _ in finding.phrase.values)


def with_remedy(finding: Finding, remedy: Phrase | str) -> Finding:
    """The finding with its remedy filled in; an empty one leaves the sentence bare."""
    values = dict(finding.phrase.values) | {REMEDY: remedy}
    return altered(finding, phrase=phrase(finding.phrase.code, **values))


def may_crack(findings: Iterable[Finding], material: Material, thickness_mm: float) -> bool:
    """Whether a hard or thick sheet is bent over what the findings call a small radius."""
    is_hard = material.tensile_mpa >= HIGH_TENSILE_MPA or thickness_mm >= THICK_MM
    return is_hard and any(finding.code.startswith(SHARP) for finding in findings)


def limit_findings(made: PunchDie, wish: BendWish, stock: Stock, *, tooling: Tooling) -> tuple[Finding, ...]:
    """All of the sheet that speaks against a vee pair that the model has an answer for, whatever length and machine."""
    return (
        *angle_findings(made.tools, wish, loaded_deg=made.loaded_turn_deg or 0.0, tooling=tooling),
        *_opening(made, wish, stock.thickness_mm),
        *_least_radius(made, wish, stock),
        *_sharp(made, wish, stock.thickness_mm),
        *_radius_wanted(made, wish),
        *leg_findings(made, wish),
        *_range(made, wish),
    )


def angle_findings(pair: Pair, wish: BendWish, *, loaded_deg: float, tooling: Tooling) -> Iterator[Finding]:
    """Die wall and punch flank against the turn under load."""
    told = {"bend_to_deg": 180 - loaded_deg, "finished_deg": 180 - wish.turn_deg}
    margin_deg = tooling.overbend_margin_deg
    if pair.die is not None and loaded_deg > die_room_deg(pair.die.vee.included_deg, margin_deg) + 1e-9:
        wall = {"die_deg": pair.die.vee.included_deg, "margin_deg": margin_deg}
        yield refuse_for_now("die-wall-touched", wish.where, **wall, **told)
    if pair.punch is not None and pair.punch.nose.included_deg > 180 - loaded_deg + 1e-9:
        yield refuse_for_now("punch-flank-touched", wish.where, punch_deg=pair.punch.nose.included_deg, **told)


def die_room_deg(die_included_deg: float, margin_deg: float) -> float:
    """The most loaded turn in a die: 180 - its angle - margin; beyond it the flange meets the wall."""
    return 180 - die_included_deg - margin_deg


def _opening(made: PunchDie, wish: BendWish, thickness_mm: float) -> Iterator[Finding]:
    opening_mm = made.tools.opening_mm or 0.0
    share = opening_mm / thickness_mm
    if not LEAST_OPENING_SHARE <= share <= MOST_OPENING_SHARE:
        bounds = {"least_mm": LEAST_OPENING_SHARE * thickness_mm, "most_mm": MOST_OPENING_SHARE * thickness_mm}
        told = {"opening_mm": opening_mm, "share": round(share, 1), **bounds}
        yield caution_for_now("opening-out-of-range", wish.where, **told)


def _least_radius(made: PunchDie, wish: BendWish, stock: Stock) -> Iterator[Finding]:
    turn_deg, radius_mm = wish.turn_deg, made.formed_radius_mm
    least_mm = table_radius_mm(stock.material.least_radius, stock.thickness_mm, grain=stock.grain, turn_deg=turn_deg)
    if least_mm is not None and radius_mm is not None and radius_mm < least_mm:
        told: dict[str, Value] = {"radius_mm": radius_mm, "least_mm": least_mm, "material": stock.material.name}
        yield caution_for_now(f"radius-under-least-{stock.grain}", wish.where, **told)


def _sharp(made: PunchDie, wish: BendWish, thickness_mm: float) -> Iterator[Finding]:
    sharp_mm = SHARP_SHARE * thickness_mm
    nose_mm, radius_mm = made.tools.nose_radius_mm or 0.0, made.formed_radius_mm or 0.0
    told = {"nose_mm": nose_mm, "radius_mm": radius_mm, "least_mm": sharp_mm}
    if radius_mm < sharp_mm:
        yield caution_for_now("nose-too-sharp", wish.where, **told)
    elif nose_mm < sharp_mm - 1e-9:
        yield note("nose-sharp", wish.where, **told)


def _radius_wanted(made: PunchDie, wish: BendWish) -> Iterator[Finding]:
    wanted_mm, radius_mm = wish.radius_mm, made.formed_radius_mm
    if wanted_mm is None or radius_mm is None:
        return
    off = radius_off_share(radius_mm, wanted_mm)
    if off > RADIUS_OFF_SHARE:
        told = {"wanted_mm": wanted_mm, "radius_mm": radius_mm, "off_percent": 100 * off}
        yield caution_for_now("radius-off", wish.where, **told)


def radius_off_share(formed_mm: float, wanted_mm: float) -> float:
    """How far a formed radius is from the one wanted, as a share of it; a wanted radius of 0 is off by all of it."""
    return abs(formed_mm - wanted_mm) / wanted_mm if wanted_mm > 0 else float(formed_mm > 0)


def leg_findings(made: PunchDie, wish: BendWish) -> Iterator[Finding]:
    """The shorter known leg against the least one: refused where it falls in, cautioned within the margin."""
    known = [leg for leg in wish.legs_mm if leg is not None]
    hard_mm, least_mm = made.hard_leg_mm, made.least_leg_mm
    if not known or hard_mm is None or least_mm is None:
        return
    told = {"leg_mm": min(known), "opening_mm": made.tools.opening_mm, "turn_deg": wish.turn_deg}
    if min(known) < hard_mm - 1e-9:
        yield refuse_for_now("leg-too-short", wish.where, least_mm=hard_mm, **told)
    elif min(known) < least_mm - 1e-9:
        yield caution_for_now("leg-near-least", wish.where, least_mm=least_mm, **told)


def _range(made: PunchDie, wish: BendWish) -> Iterator[Finding]:
    loaded_deg, most_deg = made.loaded_turn_deg, MOST_VERIFIED_TURN_DEG
    if loaded_deg is not None and loaded_deg > most_deg:
        yield caution("turn-beyond-verified", wish.where, loaded_deg=loaded_deg, most_deg=most_deg)
    nose_mm, most_mm = made.tools.nose_radius_mm, MOST_VERIFIED_NOSE_SHARE * (made.tools.opening_mm or math.inf)
    if nose_mm is not None and nose_mm > most_mm:
        yield caution("nose-beyond-verified", wish.where, nose_mm=nose_mm, most_mm=most_mm)


def width_findings(wish: BendWish, thickness_mm: float) -> Iterator[Finding]:
    """A bend too short for the model, which knows plane strain only."""
    least_mm = LEAST_WIDTH_SHARE * thickness_mm
    if wish.length_mm is not None and wish.length_mm < least_mm:
        yield caution("width-beyond-verified", wish.where, width_mm=wish.length_mm, least_mm=least_mm)


def load_findings(made: PunchDie, wish: BendWish, *, tooling: Tooling) -> Iterator[Finding]:
    """All loads of one hit; without a machine its limits are not judged, without a length its force is not."""
    per_m, machine = made.limit_force_kn_per_m, tooling.machine
    if per_m is None:
        return
    yield from _ratings(made.tools, wish, machine, per_m)
    if machine is not None:
        yield from _concentrated(wish, tooling.concentrated_share, machine, per_m)
        yield from machine_findings(made, wish, machine)


def _ratings(tools: Pair, wish: BendWish, machine: Machine | None, per_m: float) -> Iterator[Finding]:
    ratings: list[tuple[str, float, Callable[[], Phrase]]] = []
    if (punch := tools.punch) is not None:
        ratings.append(("punch", punch.load_kn_per_m, lambda: phrase("body.punch", name=punch.name)))
    if (die := tools.die) is not None:
        ratings.append(("die", die.load_kn_per_m, lambda: phrase("body.die", name=die.name)))
    if machine is not None:
        ratings.append(("holder", machine.holder_load_kn_per_m, lambda: phrase("body.holder")))
    for body, rating, name in ratings:
        if per_m <= NEAR_SHARE * rating:
            continue
        told: dict[str, Value] = {"body": name(), "force_kn_per_m": per_m, "load_kn_per_m": rating}
        if per_m > rating:
            yield refuse_for_now(f"over-{body}-load", wish.where, **told)
        else:
            yield caution_for_now(f"near-{body}-load", wish.where, **told)


def concentrated_kn_per_m(machine: Machine, share: float) -> float:
    """The most force per metre on a short bend: the maker's, else F_max over `share` of the frames' distance."""
    if machine.concentrated_kn_per_m is not None:
        return machine.concentrated_kn_per_m
    return 1000 * machine.force_kn / (share * machine.frames_mm)


def carried_kn_per_m(tooling: Tooling) -> float:
    """The most force per metre of which nothing is said on a machine, whatever tools are in it."""
    machine = tooling.machine
    if machine is None:
        return math.inf
    return min(NEAR_SHARE * machine.holder_load_kn_per_m, concentrated_kn_per_m(machine, tooling.concentrated_share))


def _concentrated(wish: BendWish, share: float, machine: Machine, per_m: float) -> Iterator[Finding]:
    most = concentrated_kn_per_m(machine, share)
    told: dict[str, Value] = {"force_kn_per_m": per_m, "load_kn_per_m": most, "machine": machine.name}
    if per_m > most and machine.concentrated_kn_per_m is not None:
        yield refuse_for_now("over-concentrated-load", wish.where, **told)
    elif per_m > most:
        yield caution_for_now("over-concentrated-rule", wish.where, share_percent=100 * share, **told)


def off_centre_force_kn(machine: Machine, offset_mm: float) -> float:
    """The most force off the middle of two drives: F_max/(1 + 2 e/s), as each drive gives half F_max."""
    return machine.force_kn / (1 + 2 * abs(offset_mm) / machine.drive_spacing_mm)


def machine_findings(made: PunchDie, wish: BendWish, machine: Machine) -> Iterator[Finding]:
    """A bend longer than the bed, or that asks more force in all than the machine has where it stands."""
    if wish.length_mm is not None and wish.length_mm > machine.bed_length_mm:
        bed = {"length_mm": wish.length_mm, "bed_mm": machine.bed_length_mm}
        yield refuse("longer-than-bed", wish.where, machine=machine.name, **bed)
    elif (force_kn := made.force_kn(wish.length_mm)) is not None:
        told: dict[str, Value] = {"force_kn": force_kn, "machine": machine.name}
        most_kn, off_mm = off_centre_force_kn(machine, wish.bed_offset_mm), abs(wish.bed_offset_mm)
        if force_kn > machine.force_kn:
            yield refuse_for_now("over-machine-force", wish.where, most_kn=machine.force_kn, **told)
        elif force_kn > most_kn:
            yield refuse_for_now("over-off-centre-force", wish.where, most_kn=most_kn, offset_mm=off_mm, **told)
