"""A panel that was planned and what was read off its piece, as the tryout takes them."""

import math
from collections.abc import Mapping

from flangewise.jobs.panel_plan import PanelPlan
from flangewise.jobs.tried import rule_mm_of, tried_bend
from flangewise.pattern import BendZone, OffsetZone, PanelBlank
from flangewise.setup import PanelSize, SetupStep, own_sizes, panel_step, size_names
from flangewise.shop import Shop
from flangewise.tryout import PanelSizes, Readings, TriedPiece


def tried_panel(plan: PanelPlan, blank: PanelBlank, shop: Shop, read: Readings) -> TriedPiece:
    """The piece of a panel that was measured. Its sizes are its legs, numbered as `size_names` has them."""
    part, steps = plan.part, plan.setup.steps if plan.setup is not None else ()
    bends = tuple(
        tried_bend(
            bend,
            zone,
            read,
            pair=plan.job.pairs.get(bend.number),
            steps=steps,
            deduction_mm=_deduction_mm(zone),
            rule_mm=rule_mm_of(part.thickness_mm, shop, blank, bend, part.panel.sizes),
            gauged=None,
        )
        for bend, zone in zip(part.panel.bends, blank.joints, strict=True)
    )
    names = size_names(part)
    return TriedPiece(
        thickness_mm=part.thickness_mm,
        wanted_mm=tuple(size.nominal_mm for size in plan.sizes) or (math.nan,) * len(names),
        measured_mm=tuple(read.legs_mm.get(size) for size in range(1, len(names) + 1)),
        developed_mm=math.nan,
        developed_measured=False,
        bends=bends,
        piece=read.piece,
        sizes=part.panel.sizes,
        panel=_sizes_by_bend(plan.sizes, steps, names),
    )


def _deduction_mm(zone: BendZone) -> float:
    """By how much the sizes beside a bend are longer than the blank; of an offset over its web."""
    if not isinstance(zone, OffsetZone):
        return zone.allowance.deduction_mm
    return 2 * zone.allowance.leg_setback_mm - zone.width_mm


def _sizes_by_bend(sizes: tuple[PanelSize, ...], steps: tuple[SetupStep, ...], names: tuple[str, ...]) -> PanelSizes:
    """The tree of sizes with bends in place of steps: of bends hit together the first stands for the stop."""
    planned = [panel_step(step.planned) for step in steps if not step.planned.is_second]
    first = [min(step.bends) - 1 for step in planned]

    def by_bend(size: PanelSize) -> Mapping[tuple[str, int], float]:
        own = [(kind, at, value) for (kind, at), value in size.terms if isinstance(at, int)]
        return {(kind, first[at] if kind == "stop" else at - 1): value for kind, at, value in own}

    return PanelSizes(
        names=names,
        terms=tuple(by_bend(size) for size in sizes) or ({},) * len(names),
        own={first[at]: size for at, size in own_sizes(sizes, planned).items()},
        by_own_edge={
            bend - 1: number
            for step in planned
            for bend in step.bends
            for number, size in enumerate(sizes)
            if size.bends == (bend,) and not size.edges and not step.parent_behind
            if step.gauged is not None and step.gauged.on == "edge" and step.gauged.face == size.face
        },
    )
