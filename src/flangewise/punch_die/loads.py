"""The force of a hit against what punch, die, holder and machine carry.

Tools and holder are rated per metre of bend; the lower rules. A short bend loads bed and ram in one place: the maker's
own figure limits it, or else the rule that the full force is not put on less than 60 % of the distance between the
side frames (common practice). Off centre the drives share unevenly: F <= F_max/(1 + 2 e/s).
"""

from __future__ import annotations

from flangewise.findings import Finding, refuse
from flangewise.punch_die.pair import PunchDie
from flangewise.punch_die.told import caution_for_now, refuse_for_now
from flangewise.punch_die.wish import BendWish, Tooling
from flangewise.shop import Machine
from flangewise.words import Value, phrase

NEAR_SHARE = 0.8
"""From 80 % of a rating on the user is told: thickness and strength of the sheet scatter (common practice)."""


def load_findings(made: PunchDie, wish: BendWish, *, tooling: Tooling) -> tuple[Finding, ...]:
    """All loads of one hit; without a machine its limits are not judged, without a length its force is not."""
    per_m = made.limit_force_kn_per_m
    if per_m is None:
        return ()
    found = _ratings(made, wish, tooling, per_m)
    if tooling.machine is not None:
        found += _concentrated(wish, tooling, tooling.machine, per_m)
        found += _machine(made, wish, tooling.machine)
    return tuple(found)


def _ratings(made: PunchDie, wish: BendWish, tooling: Tooling, per_m: float) -> list[Finding]:
    ratings = [
        ("punch", made.tools.punch_name, made.tools.punch.load_kn_per_m if made.tools.punch is not None else None),
        ("die", made.tools.die_name, made.tools.die.load_kn_per_m if made.tools.die is not None else None),
        ("holder", None, tooling.machine.holder_load_kn_per_m if tooling.machine is not None else None),
    ]
    found = []
    for body, name, rating in ratings:
        if rating is None or per_m <= NEAR_SHARE * rating:
            continue
        told = phrase(f"body.{body}", name=name) if name is not None else phrase(f"body.{body}")
        values: dict[str, Value] = {"body": told, "force_kn_per_m": per_m, "load_kn_per_m": rating}
        found.append(
            refuse_for_now(f"over-{body}-load", wish.where, **values)
            if per_m > rating
            else caution_for_now(f"near-{body}-load", wish.where, **values)
        )
    return found


def concentrated_kn_per_m(machine: Machine, share: float) -> float:
    """The most force per metre on a short bend: the maker's figure, else F_max over `share` of the frames' distance.

    400 kN and frames 1250 mm apart with share 0.6 give 533 kN/m.
    """
    if machine.concentrated_kn_per_m is not None:
        return machine.concentrated_kn_per_m
    return 1000 * machine.force_kn / (share * machine.frames_mm)


def _concentrated(wish: BendWish, tooling: Tooling, machine: Machine, per_m: float) -> list[Finding]:
    most = concentrated_kn_per_m(machine, tooling.concentrated_share)
    if per_m <= most:
        return []
    values: dict[str, Value] = {"force_kn_per_m": per_m, "load_kn_per_m": most, "machine": machine.name}
    if machine.concentrated_kn_per_m is not None:
        return [refuse_for_now("over-concentrated-load", wish.where, **values)]
    share = 100 * tooling.concentrated_share
    return [caution_for_now("over-concentrated-rule", wish.where, share_percent=share, **values)]


def off_centre_force_kn(machine: Machine, offset_mm: float) -> float:
    """The most force at a distance from the middle of two drives: F_max/(1 + 2 e/s), each drive giving half F_max.

    400 kN with drives 800 mm apart, 300 mm off the middle: 229 kN. In the middle all of it.
    """
    return machine.force_kn / (1 + 2 * abs(offset_mm) / machine.drive_spacing_mm)


def _machine(made: PunchDie, wish: BendWish, machine: Machine) -> list[Finding]:
    if wish.length_mm is not None and wish.length_mm > machine.bed_length_mm:
        values: dict[str, Value] = {
            "length_mm": wish.length_mm,
            "bed_mm": machine.bed_length_mm,
            "machine": machine.name,
        }
        return [refuse("longer-than-bed", wish.where, **values)]
    if made.force_kn is None:
        return []
    values = {"force_kn": made.force_kn, "machine": machine.name}
    most_kn = off_centre_force_kn(machine, wish.bed_offset_mm)
    if made.force_kn > machine.force_kn:
        return [refuse_for_now("over-machine-force", wish.where, most_kn=machine.force_kn, **values)]
    if made.force_kn > most_kn:
        return [
            refuse_for_now(
                "over-off-centre-force", wish.where, most_kn=most_kn, offset_mm=abs(wish.bed_offset_mm), **values
            )
        ]
    return []
