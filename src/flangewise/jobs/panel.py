"""A panel as far as it is worked out: the tools of each bend, the blank that they make, and what must be known.

The die decides the radius, the radius the blank, and the blank how long each bend line is: the three are taken in turn
until the lengths stay.
"""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from flangewise.bend import NOTHING_LEARNED, outside_more_mm
from flangewise.findings import Finding, sorted_findings
from flangewise.geometry import edges_of
from flangewise.part import BASE, Drawn, Panel, PanelPart, WantedFlange, machines_wanted
from flangewise.pattern import NoBlank, PanelBlank, lay_out_drawn, lay_out_panel
from flangewise.punch_die import (
    BendWish,
    PunchDie,
    Stock,
    Tooling,
    deduction_of,
    depth_of,
    learned_notes,
    learned_offers,
    nothing_offered,
    usable,
)
from flangewise.records import dataclass, replace
from flangewise.shop import Machine, Shop

if TYPE_CHECKING:
    from flangewise.panel_order import PanelShapes

# The lengths of bend lines are taken for settled when none changes by more than this.
SETTLED_MM = 0.01
MOST_PASSES = 4


class Blanks:
    """The blanks of a panel, each laid out once, whichever machine and tools ask for it."""

    def __init__(self, part: PanelPart, shop: Shop) -> None:
        """None yet."""
        self._part, self._shop = part, shop
        self._known: dict[tuple[tuple[tuple[int, float], ...], ...], PanelBlank | NoBlank] = {}
        # The faces and wings of each, by its identity, made once for all machines where an order is looked for.
        self.shapes: dict[int, PanelShapes] = {}

    def of_pairs(self, wishes: Sequence[BendWish], pairs: Mapping[int, PunchDie | None]) -> PanelBlank:
        """The blank with the radii that the pairs form, where there is no pair with those asked for or the thickness.

        Raises NoBlank where they make none.
        """
        part, shop = self._part, self._shop
        radii_mm: dict[int, float] = {}
        deductions_mm: dict[int, float] = {}
        for wish in wishes:
            pair = pairs[wish.number]
            formed_mm = pair.formed_radius_mm if pair is not None else None
            if formed_mm is None:
                asked_mm = wish.gap_mm / 2 if wish.kind == "hem" else wish.radius_mm
                formed_mm = part.thickness_mm if asked_mm is None else asked_mm
            radii_mm[wish.number] = formed_mm
            if pair is not None:
                learned = deduction_of(pair, wish, shop.materials[part.material], part.thickness_mm, shop=shop)
                deductions_mm |= {} if learned is None else {wish.number: learned.deduction_mm}
        key = tuple(sorted(radii_mm.items())), tuple(sorted(deductions_mm.items()))
        if key not in self._known:
            lay_out = lay_out_drawn if isinstance(part.panel, Drawn) else lay_out_panel
            try:
                self._known[key] = lay_out(part, shop, radii_mm=radii_mm, deductions_mm=deductions_mm)
            except NoBlank as none:
                self._known[key] = none
        found = self._known[key]
        if isinstance(found, NoBlank):
            raise found
        return found


@dataclass(frozen=True)
class PanelJob:
    """A panel worked out on a machine: its blank (None where there is none), the pair offered first for each bend, and
    all that are of use for it; `wishes` are what was asked of them."""

    part: PanelPart
    machine: Machine
    blank: PanelBlank | None
    wishes: tuple[BendWish, ...]
    pairs: Mapping[int, PunchDie | None]
    offers: Mapping[int, tuple[PunchDie, ...]]
    findings: tuple[Finding, ...]
    blanks: Blanks


def panel_worked_out(part: PanelPart, shop: Shop) -> PanelJob:
    """The panel on the first of its machines that has tools for every bend, else on the first."""
    jobs = panel_jobs(part, shop)
    first = next(jobs)
    every = itertools.chain([first], jobs)
    return next((job for job in every if _has_tools(job)), first)


def panel_jobs(part: PanelPart, shop: Shop) -> Iterator[PanelJob]:
    """The panel worked out on each of its machines, when it is asked for."""
    blanks = Blanks(part, shop)
    return (_on_machine(part, shop, shop.machines[name], blanks) for name in machines_wanted(part, shop))


def _has_tools(job: PanelJob) -> bool:
    return all(pair is not None and not pair.refused for pair in job.pairs.values())


def _on_machine(part: PanelPart, shop: Shop, machine: Machine, blanks: Blanks) -> PanelJob:
    lengths_mm: Mapping[int, float] = {}
    wishes = _wishes(part, shop, None)
    pairs: dict[int, PunchDie | None] = {}
    offers: dict[int, tuple[PunchDie, ...]] = {}
    blank: PanelBlank | None = None
    none: tuple[Finding, ...] = ()
    for _ in range(MOST_PASSES):
        every = {wish.number: _offered(wish, part, shop, machine) for wish in wishes}
        offers = {bend: usable(each) for bend, each in every.items()}
        pairs = {bend: next(iter(offers[bend] or each), None) for bend, each in every.items()}
        try:
            blank, none = blanks.of_pairs(wishes, pairs), ()
        except NoBlank as error:
            blank, none = None, error.findings
            break
        found = {zone.bend: zone.length_mm for zone in blank.zones}
        if all(abs(found[bend] - lengths_mm.get(bend, -1.0)) <= SETTLED_MM for bend in found):
            break
        lengths_mm = found
        wishes = _wishes(part, shop, blank)
    job = PanelJob(part, machine, blank, tuple(wishes), pairs, offers, none, blanks)
    return replace(job, findings=sorted_findings([*none, *panel_findings(job, shop)]))


def panel_findings(job: PanelJob, shop: Shop) -> list[Finding]:
    """What must be known of the pairs in use and of their blank."""
    told = [nothing_offered(wish) for wish in job.wishes if job.pairs[wish.number] is None]
    told += [finding for pair in job.pairs.values() if pair is not None for finding in pair.all_findings]
    told += job.blank.findings if job.blank is not None else ()
    return told + _learned(job.part, shop, job.machine, job.wishes, job.pairs)


def _offered(wish: BendWish, part: PanelPart, shop: Shop, machine: Machine) -> tuple[PunchDie, ...]:
    """The pairs for a bend, best first, where nothing forbids any the least bad first; of every die if need be."""
    stock = Stock(shop.materials[part.material], part.thickness_mm, grain=part.grain)
    tooling = Tooling.of(shop, machine)
    offers: tuple[PunchDie, ...] = ()
    for every_die in (False, True):
        asked = replace(wish, every_die=every_die)
        offers = learned_offers(asked, stock, shop, nominal_mm=part.thickness_mm, tooling=tooling)
        if usable(offers):
            break
    return offers


def _wishes(part: PanelPart, shop: Shop, blank: PanelBlank | None) -> list[BendWish]:
    """What each bend asks of its tools: the legs beside it as outside sizes, and its own length where there is a
    blank."""
    lengths_mm = {zone.bend: zone.length_mm for zone in blank.zones} if blank is not None else {}
    legs = _legs_mm(part, blank)
    made = []
    for bend in part.panel.bends:
        given: dict[str, Any] = vars(bend) | {"gap_mm": bend.gap_mm or 0.0}
        given["radius_mm"] = part.panel.asked_radius_mm(bend)
        beside_mm, length_mm = legs[bend.number], lengths_mm.get(bend.number)
        made.append(BendWish(**given, legs_mm=beside_mm, length_mm=length_mm, rule=shop.defaults.rule))
    return made


def _legs_mm(part: PanelPart, blank: PanelBlank | None) -> dict[int, tuple[float | None, float | None]]:
    """The faces beside each bend, square to it: of a drawn blank as they come out, of a panel as they are sized."""
    panel = part.panel
    if isinstance(panel, Drawn):
        zones = blank.zones if blank is not None else ()
        deductions_mm = {zone.bend: zone.allowance.deduction_mm for zone in zones}
        return {bend.number: panel.legs_mm(bend.number, deductions_mm) for bend in panel.bends}
    return {
        flange.number - 1: (_beside_mm(part, panel, flange), _leg_mm(part, flange)) for flange in panel.all_flanges()
    }


def _more_mm(part: PanelPart, turn_deg: float) -> float:
    return outside_more_mm(part.thickness_mm, turn_deg=turn_deg, sizes=part.panel.sizes) / 2


def _leg_mm(part: PanelPart, flange: WantedFlange) -> float:
    """A flange from its mould line to its tip, or to the mould line there, as an outside size."""
    tips = [_more_mm(part, each.bend.turn_deg) for each in flange.flanges if each.edge == "tip"]
    return flange.tip_mm + _more_mm(part, flange.bend.turn_deg) + max(tips, default=0.0)


def _beside_mm(part: PanelPart, panel: Panel, flange: WantedFlange) -> float | None:
    """The face that a flange hangs on, square to the bend; None for a flange on another's side, whose width is its
    own affair."""
    if flange.on == BASE:
        return _deep_mm(panel, flange) + _more_mm(part, flange.bend.turn_deg)
    if flange.edge != "tip":
        return None
    return _leg_mm(part, next(each for each in panel.all_flanges() if each.face == flange.on))


def _deep_mm(panel: Panel, flange: WantedFlange) -> float:
    """How far the base reaches inward from an edge."""
    edge = dict(zip(panel.edges, edges_of(panel.ring_mm), strict=True))[flange.edge]
    return max(-edge.place_of(point)[1] for point in panel.ring_mm)


def _learned(
    part: PanelPart, shop: Shop, machine: Machine, wishes: Sequence[BendWish], pairs: Mapping[int, PunchDie | None]
) -> list[Finding]:
    """What of the pairs in use rests on measured bends."""
    if not shop.measured.rows:
        return []
    material, tooling = shop.materials[part.material], Tooling.of(shop, machine)
    told: list[Finding] = []
    for wish in wishes:
        pair = pairs[wish.number]
        if pair is not None:
            depth = depth_of(pair, material, part.thickness_mm, shop, tooling=tooling)
            taught = depth if depth is not None and depth.learned != NOTHING_LEARNED else None
            told += learned_notes(wish.where, taught, deduction_of(pair, wish, material, part.thickness_mm, shop=shop))
    return told
