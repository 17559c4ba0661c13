"""What a bend asks of its tools, what it is bent from, and the tools there are to choose from."""

from __future__ import annotations

from dataclasses import dataclass, field

from flangewise.findings import place
from flangewise.part import BendKind
from flangewise.shop import Die, Grain, Machine, Material, Punch, Shop
from flangewise.words import Phrase


@dataclass(frozen=True)
class Ideal:
    """Tools that stand in no table: a nose radius in place of a punch, an opening with its shoulders in place of a die.

    None leaves the shop's own. They have no angle, no load and no body, so those are not judged.
    """

    nose_radius_mm: float | None = None
    opening_mm: float | None = None
    shoulder_radius_mm: float = 0.0


@dataclass(frozen=True)
class BendWish:
    """One bend: the finished turn, the inside radius wanted, the outside legs beside it, and what is pinned.

    `legs_mm` holds None for a leg not known, `length_mm` None where no length along the bend is given. A hem has
    `gap_mm` (0 closed), an offset `offset_mm`. `bed_offset_mm` is how far from the middle of the bed it is bent.
    `rule` and `k_factor` make the deduction that the least leg is counted with.
    """

    number: int | None
    turn_deg: float
    kind: BendKind = "bend"
    radius_mm: float | None = None
    legs_mm: tuple[float | None, float | None] = (None, None)
    length_mm: float | None = None
    punch: str | None = None
    die: str | None = None
    gap_mm: float = 0.0
    offset_mm: float | None = None
    bed_offset_mm: float = 0.0
    ideal: Ideal = Ideal()
    rule: str = "din-6935"
    k_factor: float | None = None

    @property
    def where(self) -> Phrase | None:
        """The bend as a finding names it; None for a bend without a number."""
        return place("bend", self.number) if self.number is not None else None


@dataclass(frozen=True)
class Stock:
    """What is bent: the material's row, the thickness, and what is known of the piece in hand.

    `grain` along is parallel to the bend line, the bad way. `springback_log` is the learned logarithm of the
    springback multiplier, `depth_offset_mm` how much deeper the machine goes than it shows.
    """

    material: Material
    thickness_mm: float
    grain: Grain = "any"
    friction: float | None = None
    springback_log: float = 0.0
    depth_offset_mm: float = 0.0


@dataclass(frozen=True)
class Tooling:
    """The tools to choose from and the machine they go into; without a machine its limits are not checked."""

    punches: tuple[Punch, ...] = field(repr=False)
    dies: tuple[Die, ...] = field(repr=False)
    machine: Machine | None = None
    overbend_margin_deg: float = 1.0
    concentrated_share: float = 0.6

    @classmethod
    def of(cls, shop: Shop, machine: Machine | None) -> Tooling:
        """All the tools of a shop, with its margins."""
        return cls(
            punches=tuple(shop.punches.values()),
            dies=tuple(shop.dies.values()),
            machine=machine,
            overbend_margin_deg=shop.defaults.overbend_margin_deg,
            concentrated_share=shop.defaults.concentrated_share,
        )
