"""The bodies a part can strike, as plain point lists, and the stack a punch and a die make between ram and bed."""

from collections.abc import Mapping

from flangewise.geometry import Outline, vee_of_die
from flangewise.records import dataclass
from flangewise.shop import Die, Machine, Punch, Shop

Corners = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Solid:
    """One body as drawn points: the punch nose at the origin for what goes with the ram, else the die top."""

    name: str
    points_mm: Corners
    with_ram: bool


@dataclass(frozen=True)
class Stack:
    """A punch over a die with ram and bed. Opening (tangent) and shoulder are 0 where the die is no vee."""

    solids: tuple[Solid, ...]
    kind: str
    opening_mm: float
    shoulder_radius_mm: float
    turned: bool = False


@dataclass(frozen=True)
class Bodies:
    """Everything a plan may name or the part may meet.

    `ram` has its origin in the middle of the punch seat, `bed` in the middle of the die seat, `finger` at the lower
    edge of the stop face with its body behind it.
    """

    punches: Mapping[str, Punch]
    dies: Mapping[str, Die]
    ram: Outline | None = None
    bed: Outline | None = None
    finger: Outline | None = None

    def stack(self, punch: str, die: str, *, turned: bool = False) -> Stack:
        """The stack of a pair, an offset pair turned as a pair. Raises KeyError for a name that is not there."""
        above, below = self.punches[punch], self.dies[die]
        outline = above.outline_mm.turned() if turned else above.outline_mm
        solids = [Solid("punch", drawn(outline), with_ram=True)]
        if self.ram is not None:
            solids.append(Solid("ram", drawn(self.ram.shifted(0.0, above.height_mm)), with_ram=True))
        die_turned = turned and below.kind == "offset"
        solids.append(
            Solid("die", drawn(below.outline_mm.turned() if die_turned else below.outline_mm), with_ram=False)
        )
        if self.bed is not None:
            solids.append(Solid("bed", drawn(self.bed.shifted(0.0, -below.height_mm)), with_ram=False))
        kind = above.kind if above.kind == below.kind else f"{above.kind} over {below.kind}"
        vee = vee_of_die(below.outline_mm) if below.kind == "vee" else None
        opening, shoulder = (vee.opening_mm, vee.shoulder_radius_mm) if vee is not None else (0.0, 0.0)
        return Stack(tuple(solids), kind, opening, shoulder, turned)


def drawn(outline: Outline) -> Corners:
    """An outline's points with its arcs drawn out."""
    return tuple((float(across), float(up)) for across, up in outline.drawn_mm())


def bodies_of(shop: Shop, machine: Machine) -> Bodies:
    """All tools of a shop on one of its machines."""
    fixed = (machine.ram_outline_mm, machine.bed_outline_mm, machine.finger_outline_mm)
    return Bodies(shop.punches, shop.dies, *fixed)
