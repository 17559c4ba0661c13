"""What is stamped on a tool against what its outline really is."""

from __future__ import annotations

from flangewise.findings import Finding, caution
from flangewise.shop.dies import Die
from flangewise.shop.punches import Punch
from flangewise.words import phrase

# Above what grinding leaves and well under what changes a bend: 0.05 mm of V is about 0.3 degrees at V 16.
SAME_OPENING_MM = 0.05
SAME_RADIUS_MM = 0.05
SAME_ANGLE_DEG = 0.1


def named_findings(tool: Punch | Die) -> tuple[Finding, ...]:
    """A caution for each named size of a vee tool that its outline does not have; other tools have none.

    The outline rules. A die's opening is compared in the way its row says it is measured: taking the opening between
    corners for that between tangent points moves the finished angle by 7 to 9 degrees.
    """
    if tool.kind != "vee":
        return ()
    return _of_die(tool) if isinstance(tool, Die) else _of_punch(tool)


def _of_die(die: Die) -> tuple[Finding, ...]:
    vee = die.vee
    derived = vee.corner_opening_mm if die.opening_measured == "corner" else vee.opening_mm
    where = phrase("body.die", name=die.name)
    found = []
    if _differ(die.named_opening_mm, derived, SAME_OPENING_MM):
        found.append(
            caution(
                "opening-not-as-named",
                where,
                named_mm=die.named_opening_mm,
                outline_mm=derived,
                measured=phrase(f"word.{die.opening_measured}"),
            )
        )
    if _differ(die.named_shoulder_radius_mm, vee.shoulder_radius_mm, SAME_RADIUS_MM):
        named = die.named_shoulder_radius_mm
        found.append(caution("radius-not-as-named", where, named_mm=named, outline_mm=vee.shoulder_radius_mm))
    if _differ(die.named_included_deg, vee.included_deg, SAME_ANGLE_DEG):
        found.append(
            caution("angle-not-as-named", where, named_deg=die.named_included_deg, outline_deg=vee.included_deg)
        )
    return tuple(found)


def _of_punch(punch: Punch) -> tuple[Finding, ...]:
    nose, where = punch.nose, phrase("body.punch", name=punch.name)
    found = []
    if _differ(punch.named_nose_radius_mm, nose.nose_radius_mm, SAME_RADIUS_MM):
        named = punch.named_nose_radius_mm
        found.append(caution("radius-not-as-named", where, named_mm=named, outline_mm=nose.nose_radius_mm))
    if _differ(punch.named_included_deg, nose.included_deg, SAME_ANGLE_DEG):
        named_deg = punch.named_included_deg
        found.append(caution("angle-not-as-named", where, named_deg=named_deg, outline_deg=nose.included_deg))
    return tuple(found)


def _differ(named: float | None, derived: float, allowed: float) -> bool:
    return named is not None and abs(named - derived) > allowed
