"""How hard a gripper must hold in the worst pose, what turns the part in it, and what it weighs on the arm.

The sheet stands vertical once in every bend that is followed and in every turn-over, so slip is reckoned there, with
the friction of the sheet as it comes. Slip and twist share one friction: loads that pads carry together are a convex
set (maximum dissipation), so the sum of what each needs by itself is enough, and never more than 1.42 of the least.
Source: statics, derived here; load cases of cups by common practice.
"""

import math
from typing import Literal

from flangewise.records import dataclass, fields
from flangewise.shop import GripperKind
from flangewise.units import GRAVITY_M_PER_S2

LoadCase = Literal["level", "vertical", "vertical-twist", "peel", "sideways"]
MM_PER_M = 1000.0


@dataclass(frozen=True)
class HeldMass:
    """What hangs in a gripper: the part's mass, and where its centre lies from the middle of the pads.

    `along_mm` in the sheet along the held flat, `beside_mm` in the sheet along the bend lines, `off_mm` out of it.
    """

    mass_kg: float
    along_mm: float
    beside_mm: float
    off_mm: float

    @property
    def in_plane_mm(self) -> float:
        """How far the centre lies from the pads' middle in the plane of the held flat."""
        return math.hypot(self.along_mm, self.beside_mm)


@dataclass(frozen=True)
class Pads:
    """What holds: pads or a field of cups or magnets, `across_mm` by `along_mm` one by one, rows `spacing_mm` apart."""

    kind: GripperKind
    across_mm: float
    along_mm: float
    rows_across: int = 1
    rows_along: int = 1
    spacing_mm: float = 0.0

    @property
    def per_mm(self) -> tuple[float, float]:
        """Pull of all that one N takes for each mm that it is off the middle, along the held flat and along the bed."""
        sides = ((self.rows_across, self.across_mm), (self.rows_along, self.along_mm))
        across, along = (_resists(self, rows, size_mm) for rows, size_mm in sides)
        return across, along

    @property
    def twist_radius_mm(self) -> float:
        """Mean distance of a pad's surface from its middle: at what radius its friction resists a twist.

        Of a rectangle a by b with diagonal d: (2 a b d + a^3 asinh(b/a) + b^3 asinh(a/b)) / (12 a b); of a square
        0.3826 of its side. Of rows of cups the mean distance of the cups from their middle, no less than that of one.
        """
        a, b = self.across_mm, self.along_mm
        own = (2 * a * b * math.hypot(a, b) + a**3 * math.asinh(b / a) + b**3 * math.asinh(a / b)) / (12 * a * b)
        if self.kind == "jaw" or self.rows_across * self.rows_along == 1:
            return own
        places = [
            math.hypot(
                *(
                    self.spacing_mm * (nth - (rows - 1) / 2)
                    for nth, rows in ((i, self.rows_across), (j, self.rows_along))
                )
            )
            for i in range(self.rows_across)
            for j in range(self.rows_along)
        ]
        return max(sum(places) / len(places), own)


@dataclass(frozen=True)
class NeededForce:
    """What holding takes, in N: of each of two jaws, or of all cups or magnets together; the factor included.

    `level_n`: hanging level and lifted; `sideways_n`: level and moved across; `vertical_n`: slip in the vertical sheet;
    `twist_n`: what the centre off the pads' middle adds to it there; `peel_n`: what opens the pads on one side, level,
    and `lean_n` the same in the vertical sheet.
    """

    level_n: float
    sideways_n: float
    vertical_n: float
    twist_n: float
    peel_n: float
    lean_n: float

    @property
    def worst_n(self) -> float:
        """The most that any pose asks for."""
        return max(self.level_n + self.peel_n, self.sideways_n + self.peel_n, self.upright_n)

    @property
    def upright_n(self) -> float:
        """What the vertical sheet asks for: slip, twist and lean at once."""
        return self.vertical_n + self.twist_n + self.lean_n

    @property
    def governs(self) -> LoadCase:
        """Which of them it is."""
        if self.upright_n < self.worst_n:
            if self.peel_n > max(self.level_n, self.sideways_n):
                return "peel"
            return "level" if self.level_n >= self.sideways_n else "sideways"
        return "vertical" if self.vertical_n >= self.twist_n + self.lean_n else "vertical-twist"

    def as_json(self) -> dict[str, float | str]:
        """With keys that name their unit."""
        return {
            **{field.name: getattr(self, field.name) for field in fields(self)},
            "worst_n": self.worst_n,
            "governs": self.governs,
        }


def needed_force(
    held: HeldMass, pads: Pads, *, friction: float, acceleration_m_per_s2: float, factor: float
) -> NeededForce:
    """What a gripper must hold with. Raises ValueError for no friction, which holds nothing.

    With W = m (g + a), the factor S and the friction mu. A jaw, per jaw: slip W S / (2 mu); twist W e S / (2 mu r), r
    the pads' `twist_radius_mm`; peel W e S / d, over pads d deep, which at most stand on their edges. Cups and magnets,
    all together: level W S, sideways m (g + a/mu) S, slip W S / mu, twist W e S / (mu r); peel what the worst row
    needs, W e / s beside its share, over rows s apart, or of a single one 2 W e S / d.
    """
    if friction <= 0:
        raise ValueError("pads without friction hold nothing")
    gravity_n, weight_n = held.mass_kg * GRAVITY_M_PER_S2, held.mass_kg * (GRAVITY_M_PER_S2 + acceleration_m_per_s2)
    thrust_n, faces = held.mass_kg * acceleration_m_per_s2, 2 if pads.kind == "jaw" else 1
    slip_n = factor * weight_n / (faces * friction)
    own = {"vertical_n": slip_n, "twist_n": slip_n * held.in_plane_mm / pads.twist_radius_mm}
    across, along = pads.per_mm
    # Off the middle both ways by themselves, added; the lean may be to any side: to that which resists less.
    peel_n = factor * weight_n * (abs(held.along_mm) * across + abs(held.beside_mm) * along)
    lean_n = factor * weight_n * abs(held.off_mm) * max(across, along)
    if pads.kind == "jaw":
        # The lower jaw carries the level part; only what moves it sideways slips.
        return NeededForce(0.0, factor * thrust_n / (2 * friction), peel_n=peel_n, lean_n=lean_n, **own)
    sideways_n = factor * (gravity_n + thrust_n / friction)
    return NeededForce(factor * weight_n, sideways_n, peel_n=peel_n, lean_n=lean_n, **own)


def _resists(pads: Pads, rows: int, size_mm: float) -> float:
    """Force for one N mm: a jaw on its pads' edges, the outermost of rows of cups, a single cup on its lip.

    Of rows the outermost carries M z / sum(z^2): so much of it all of them must be able to.
    """
    if pads.kind == "jaw":
        return 1 / size_mm
    if rows == 1:
        return 2 / size_mm
    places = [pads.spacing_mm * (nth - (rows - 1) / 2) for nth in range(rows)]
    return rows * places[-1] / sum(place**2 for place in places)


@dataclass(frozen=True)
class ArmLoad:
    """What hangs on the arm: mass and moment at its flange, and what it may carry."""

    mass_kg: float
    most_kg: float
    moment_nm: float
    most_nm: float | None

    @property
    def is_carried(self) -> bool:
        """Whether the arm carries both; a moment of which nothing is known is not."""
        return self.mass_kg <= self.most_kg and self.most_nm is not None and self.moment_nm <= self.most_nm


def arm_load(
    held: HeldMass,
    *,
    gripper_kg: float,
    payload_kg: float,
    payload_share: float,
    payload_moment_nm: float | None,
    flange_mm: float,
) -> ArmLoad:
    """Mass and moment at the arm's flange, against the share of its payload that is planned with.

    M = (m_part e + m_grip f/2) g, e the distance of the part's centre from the flange, the gripper's own in the middle
    of its length f (judgement).
    """
    part_mm = math.hypot(flange_mm + max(abs(held.along_mm), abs(held.off_mm)), held.beside_mm)
    moment_nm = (held.mass_kg * part_mm + gripper_kg * flange_mm / 2) * GRAVITY_M_PER_S2 / MM_PER_M
    return ArmLoad(held.mass_kg + gripper_kg, payload_share * payload_kg, moment_nm, payload_moment_nm)
