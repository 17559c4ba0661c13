"""The formulas behind a held step's figures, each with the numbers that went in."""

from collections.abc import Sequence

from flangewise.bend import Formula
from flangewise.handling.gripper import GripperShape
from flangewise.handling.holding_force import HeldMass, Pads
from flangewise.handling.strength import Strength
from flangewise.handling.told import HeldAt
from flangewise.shop import Gripper
from flangewise.units import GRAVITY_M_PER_S2
from flangewise.words import Phrase, phrase

STATICS = "statics, derived here; load cases by common practice"

_JAW = {
    "vertical_n": "slip in the vertical sheet, each jaw: m (g + a) S / (2 mu)",
    "twist_n": "twist about the pads: m (g + a) e S / (2 mu r)",
    "peel_n": "level sheet on the edges of the pads, k 1 over their size: m (g + a) S (x kx + y ky)",
    "lean_n": "vertical sheet, its mass off the held flat: m (g + a) S off max(kx, ky)",
    "sideways_n": "level sheet pushed sideways: m a S / (2 mu)",
}
_CUPS = {
    "level_n": "level and lifted: m (g + a) S",
    "vertical_n": "slip in the vertical sheet: m (g + a) S / mu",
    "twist_n": "twist about the field: m (g + a) e S / (mu r)",
    "peel_n": "the worst row's pull of all, k n z / sum(z^2), of one row 2 / d: m (g + a) S (x kx + y ky)",
    "lean_n": "vertical sheet, its mass off the held face: m (g + a) S off max(kx, ky)",
    "sideways_n": "level and moved sideways: m (g + a / mu) S",
}


def holding_formulas(strength: Strength, pads: Pads, row: Gripper) -> tuple[tuple[Formula, float], ...]:
    """What is asked of a grip, formula by formula with its value in N; empty where it cannot be computed."""
    if strength.needs is None or row.friction is None or row.acceleration_m_per_s2 is None:
        return ()
    formulas, inputs = _JAW if pads.kind == "jaw" else _CUPS, _inputs(strength.held, pads, row)
    told = [
        (Formula(key, text, inputs, STATICS), float(getattr(strength.needs, key))) for key, text in formulas.items()
    ]
    worst = "the most of level + peel, sideways + peel, and slip + twist + lean"
    return (*told, (Formula("worst_n", worst, inputs, STATICS), strength.needs.worst_n))


def _inputs(held: HeldMass, pads: Pads, row: Gripper) -> str:
    """The letters of the formulas: the centre's way x along the held flat and y along the bed, e both together."""
    across, along = pads.per_mm
    return (
        f"m {held.mass_kg:.3f} kg, g {GRAVITY_M_PER_S2}, a {row.acceleration_m_per_s2:g} m/s2, S {row.factor:g}, "
        f"mu {row.friction:g}, e {held.in_plane_mm:.1f} mm, x {abs(held.along_mm):.1f} mm, "
        f"y {abs(held.beside_mm):.1f} mm, off {abs(held.off_mm):.1f} mm, kx {across:.5f} /mm, ky {along:.5f} /mm, "
        f"r {pads.twist_radius_mm:.2f} mm"
    )


def why_lines(held: Sequence[HeldAt], row: Gripper, length_mm: float) -> tuple[Phrase, ...]:
    """The formulas of every held hit as lines: force, speed of the held point, push on the stops."""
    shape, found = GripperShape(row), list[Phrase]()
    for each in held:
        if each.grip is None:
            continue
        pads = shape.pads(each.grip.kind, min(length_mm, each.grip.pads_room_mm))
        asked = max(each.strengths, key=lambda strength: strength.excess)
        for formula, value in holding_formulas(asked, pads, row):
            told = {"key": formula.key, "formula": formula.formula, "inputs": formula.inputs, "source": formula.source}
            found.append(phrase("grip.why", step=each.step, value=f"{value:.1f} N", **told))
        if each.point is not None and each.path:
            found.append(
                phrase(
                    "grip.why-speed",
                    step=each.step,
                    factor=f"{each.point.factor:.2f}",
                    ram_mm_per_s=each.point.ram_mm_per_s,
                    point_mm_per_s=each.point.factor * each.point.ram_mm_per_s,
                    follow_mm_per_s=each.point.follow_ram_mm_per_s,
                )
            )
        if each.why_so is not None:
            found.append(phrase("grip.why-so", step=each.step, does=each.doing, why=each.why_so))
        if each.seated is not None:
            free_mm, buckles = each.seated.free_mm, f"{each.seated.buckles_n:.0f} N"
            found.append(phrase("grip.why-push", step=each.step, free_mm=free_mm, buckles=buckles))
    return tuple(found)
