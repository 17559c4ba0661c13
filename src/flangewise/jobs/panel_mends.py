"""The changes that would free a panel for which there is no order, each verified by planning it again.

What stands in the way names the faces and bends that are changed: tools, order, machine and radius freed first, then
reliefs and laps, then one size at a time: an inset, a flange's height, the gap of corners, what a row may leave short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from flangewise.findings import Finding, note, place, refused, sorted_findings
from flangewise.jobs.nearest import Nearest
from flangewise.jobs.panel import panel_jobs
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.panel_problem import has_sound_blank
from flangewise.part import BASE, Corner, Drawn, Panel, PanelPart, Slot, WantedFlange
from flangewise.sequence import UNLIMITED, Watch
from flangewise.shop import Shop
from flangewise.words import Phrase, Value

# Of the time left, what all changes may take, and what each of the other plannings may.
MENDS_SHARE, TRIAL_SHARE = 0.6, 0.25
# So many faces are changed; those that the reasons name come first.
MOST_FACES = 4
# A flange is tried up to half as high again and down to half; beyond that it is another part.
MOST_SHARE = 0.5
# An inset takes no more of an edge than this, and corners open no further.
MOST_INSET_MM, MOST_GAP_MM = 60.0, 5.0
# What a row may leave of a bend at an end at most, in thicknesses: a corner left softer than that is not pressed.
MOST_SHORT_THICKNESSES = 5.0
SLOT_MM = 1.0
# At an inner corner the flange across is taken back by so many thicknesses: room for bend and slot.
CLEAR_THICKNESSES = 4.0
ENDS = {"left": "from_mm", "right": "inset_mm"}
SAID = {"left": "piece.left-end", "right": "piece.right-end"}
Own = Callable[[float], PanelPart]
Found = tuple[Nearest, float | None]


def worked_out_panel(part: PanelPart, shop: Shop, watch: Watch = UNLIMITED) -> PanelPlan:
    """The panel planned; where there is no plan, the changes that would free it are told besides, if there was time."""
    plan = planned_panel(part, shop, watch)
    if plan.feasible or watch.over():
        return plan
    return replace(plan, findings=sorted_findings([*plan.findings, *panel_mends(plan, part, shop, watch)]))


def panel_mends(plan: PanelPlan, part: PanelPart, shop: Shop, watch: Watch) -> tuple[Finding, ...]:
    """Changes that were planned again and work. What was not looked at in their share of the time is not told."""
    mends = _Mends(plan, part, shop, watch.share(MENDS_SHARE))
    return tuple(mends.found())


class _Mends:
    """The changes of one panel."""

    def __init__(self, plan: PanelPlan, part: PanelPart, shop: Shop, watch: Watch) -> None:
        self.plan, self.part, self.shop, self.watch = plan, part, shop, watch
        # Where the blank itself is refused it is mended first: that is looked at without planning.
        self.on_blank = refused(plan.job.findings)

    def can(self, part: PanelPart, shop: Shop | None = None) -> bool | None:
        """Whether a plan is found; None where that is not known."""
        if self.watch.over():
            return None
        watch = replace(self.watch.share(TRIAL_SHARE), any_plan=True)
        return planned_panel(part, shop or self.shop, watch).feasible

    def has_blank(self, part: PanelPart) -> bool:
        """Whether tools of any of its machines make a blank that nothing is refused of: without it there is no plan."""
        return any(has_sound_blank(job, self.shop) for job in panel_jobs(part, self.shop))

    def found(self) -> Iterator[Finding]:
        """Every change that works, the freest first; where what was asked for stands in the way, that alone."""
        part, is_freed = self.part, False
        pinned = [bend.number for bend in part.panel.bends if bend.punch or bend.die]
        if pinned and self.can(self.with_bends(punch=None, die=None)):
            is_freed = True
            yield note("would-do-unpinned", bends=", ".join(map(str, pinned)))
        if part.order is not None:
            freed = planned_panel(replace(part, order=None), self.shop, self.watch.share(TRIAL_SHARE))
            if freed.feasible and freed.solution is not None:
                order = ", ".join(str(bend) for step in freed.solution.steps for bend in step.bends)
                is_freed = True
                yield note("would-do-order", order=order)
        if is_freed:
            return
        for name in self.shop.machines:
            if name != self.plan.machine.name and self.can(replace(part, machine=name, machines=())):
                yield note("would-do-machine", machine=name)
                break
        panel = part.panel
        if panel.radius_mm is not None and self.can(replace(part, panel=replace(panel, radius_mm=None))):
            yield note("would-do-radius", radius_mm=panel.radius_mm)
        if isinstance(panel, Panel):
            yield from self.reliefs(panel)
            yield from self.laps(panel)
            yield from self.insets(panel)
            yield from self.heights(panel)
            yield from self.gaps(panel)
        yield from self.rows()

    def with_bends(self, **more: Any) -> PanelPart:
        """The part with something changed of every bend."""
        panel = self.part.panel
        if isinstance(panel, Drawn):
            return replace(self.part, panel=replace(panel, bends=tuple(replace(bend, **more) for bend in panel.bends)))
        return self.with_flanges(panel, lambda flange: replace(flange, bend=replace(flange.bend, **more)))

    def with_flanges(self, panel: Panel, change: Callable[[WantedFlange], WantedFlange]) -> PanelPart:
        """The part with every flange changed."""
        flanges = tuple(_changed(flange, change) for flange in panel.flanges)
        return replace(self.part, panel=replace(panel, flanges=flanges))

    def with_size(self, panel: Panel, face: str, key: str, length_mm: float) -> PanelPart:
        """The part with one size of one flange changed."""
        own: dict[str, Any] = {key: length_mm}
        return self.with_flanges(panel, lambda each: replace(each, **own) if each.face == face else each)

    def faces(self, panel: Panel) -> list[WantedFlange]:
        """The flanges that the reasons name, in their order."""
        flanges = panel.all_flanges()
        bends = {str(flange.bend.number): flange for flange in flanges}
        names = {flange.face: flange for flange in flanges}
        told: list[WantedFlange | None] = []
        for finding in self.plan.findings:
            if finding.severity != "refuse":
                continue
            for value in (finding.where, *dict(finding.phrase.values).values()):
                told += [_named(value, names, bends)]
        for blocker in self.plan.solution.blockers if self.plan.solution is not None else ():
            told += [bends.get(str(bend)) for bend in blocker.operation.bends]
            told += [names.get(face) for face in blocker.faces]
        return list(dict.fromkeys(each for each in told if each is not None))[:MOST_FACES]

    def reliefs(self, panel: Panel) -> Iterator[Finding]:
        """Slots beside the bends that end beside sheet, where what is refused asks for them."""
        missing = [each.where for each in self.plan.findings if each.code == "relief-missing" and each.where]
        if not missing:
            return
        width_mm = max(self.part.thickness_mm, SLOT_MM)
        slot = Slot(width_mm)
        if self.can(self.with_flanges(panel, lambda flange: replace(flange, slot=slot))):
            numbers = ", ".join(dict.fromkeys(str(dict(where.values)["number"]) for where in missing))
            yield note("would-do-relief", width_mm=width_mm, bends=numbers)

    def laps(self, panel: Panel) -> Iterator[Finding]:
        """Corners lapped the other way."""
        corners = [panel.every_corner, *(corner for _, corner in panel.corners)]
        over = {edge for corner in corners if corner.kind == "lapped" for edge in corner.over}
        if not over:
            return
        others = tuple(flange.edge for flange in panel.flanges if flange.edge not in over)

        def lapped(corner: Corner) -> Corner:
            return replace(corner, over=others) if corner.kind == "lapped" else corner

        turned = replace(
            panel,
            every_corner=lapped(panel.every_corner),
            corners=tuple((name, lapped(corner)) for name, corner in panel.corners),
        )
        if self.can(replace(self.part, panel=turned)):
            yield note("would-do-lap", over=", ".join(others))

    def insets(self, panel: Panel) -> Iterator[Finding]:
        """Flanges of the base that overlap begun or ended so much further in; at an inner corner the one across it a
        little too, so that its bend ends beside a slot."""
        if not any(each.code in ("faces-overlap-flat", "part-crosses-itself") for each in self.plan.findings):
            return
        faces = [flange for flange in self.faces(panel) if flange.on == BASE and not flange.shape_mm]
        for flange in faces:
            for end in ENDS:
                if end == "right" and flange.to_mm is not None:
                    continue
                own = partial(self.with_size, panel, flange.face, ENDS[end])
                now_mm = getattr(flange, ENDS[end])
                size, then_mm = self.size(now_mm, own, side=1, most_mm=MOST_INSET_MM)
                values: dict[str, Any] = {"end": Phrase(SAID[end])}
                code, beside = "would-do-inset", self.across(panel, flange, end, faces)
                if then_mm is None and beside is not None:
                    other, code = beside, "would-do-insets"
                    there = "left" if end == "right" else "right"
                    clear_mm = CLEAR_THICKNESSES * self.part.thickness_mm

                    def both(
                        mm: float,
                        own: Own = own,
                        face: str = other.face,
                        key: str = ENDS[there],
                        to_mm: float = clear_mm,
                    ) -> PanelPart:
                        changed = own(mm).panel
                        assert isinstance(changed, Panel)
                        return self.with_size(changed, face, key, to_mm)

                    size, then_mm = self.size(now_mm, both, side=1, most_mm=MOST_INSET_MM)
                    values |= {"other": other.face, "other_mm": clear_mm, "other_end": Phrase(SAID[there])}
                if then_mm is not None:
                    yield size.finding(code, then_mm, place("face", flange.face), sides=(1,), **values)

    def across(
        self, panel: Panel, flange: WantedFlange, end: str, faces: Sequence[WantedFlange]
    ) -> WantedFlange | None:
        """The flange in question that begins where this one ends, or the other way round."""
        next_to = panel.edges[(panel.edges.index(flange.edge) + (1 if end == "right" else -1)) % len(panel.edges)]
        return next((each for each in faces if each.edge == next_to), None)

    def heights(self, panel: Panel) -> Iterator[Finding]:
        """Flanges that are lower or higher."""
        for flange in self.faces(panel):
            if flange.height_mm is None:
                continue
            own = partial(self.with_size, panel, flange.face, "height_mm")
            size, then_mm = self.size(flange.height_mm, own, side=None, most_mm=flange.height_mm * MOST_SHARE)
            if then_mm is not None:
                yield size.finding("would-do-flange", then_mm, place("face", flange.face), sides=(-1, 1))

    def gaps(self, panel: Panel) -> Iterator[Finding]:
        """Corners, and the ends of mitred returns, that stand further apart."""
        corners = [panel.every_corner, *(corner for _, corner in panel.corners)]
        now_mm = [corner.gap_mm for corner in corners if corner.kind != "open"]
        now_mm += [flange.gap_mm for flange in panel.all_flanges() if flange.mitred]
        if not now_mm:
            return

        def apart(mm: float) -> PanelPart:
            wider = replace(
                panel,
                every_corner=replace(panel.every_corner, gap_mm=mm),
                corners=tuple((name, replace(corner, gap_mm=mm)) for name, corner in panel.corners),
            )
            return self.with_flanges(wider, lambda flange: replace(flange, gap_mm=mm))

        size, then_mm = self.size(min(now_mm), apart, side=1, most_mm=MOST_GAP_MM)
        if then_mm is not None:
            yield size.finding("would-do-gap", then_mm, sides=(1,))

    def rows(self) -> Iterator[Finding]:
        """Rows of tools that may end further from the ends of a bend."""
        if not any(each.code == "blocked-row" for each in self.plan.findings):
            return
        own, thickness_mm = self.shop.defaults, self.part.thickness_mm

        def planned(mm: float) -> bool | None:
            shop = replace(self.shop, defaults=own.model_copy(update={"row_short_thicknesses": mm / thickness_mm}))
            return self.can(self.part, shop)

        now_mm = own.row_short_thicknesses * thickness_mm
        size = Nearest(round(now_mm, 1), planned, self.watch.over)
        then_mm = size.nearest_mm(1, (MOST_SHORT_THICKNESSES - own.row_short_thicknesses) * thickness_mm)
        if then_mm is not None:
            yield size.finding("would-do-row", then_mm, sides=(1,))

    def size(self, now_mm: float, part: Callable[[float], PanelPart], *, side: int | None, most_mm: float) -> Found:
        """A size of the part in other lengths, and the nearest that works: to one side, or to both (None)."""
        planned = Nearest(now_mm, lambda mm: self.can(part(mm)), self.watch.over)
        if self.on_blank:
            # Where some blank is sound is quickly found, and nothing nearer can be planned.
            laid = Nearest(now_mm, lambda mm: self.has_blank(part(mm)), self.watch.over)
            then_mm = laid.nearest_mm(side, most_mm) if side else laid.nearer_of_both_mm(most_mm)
            if then_mm is None or planned.works(then_mm):
                return planned, then_mm
        return planned, planned.nearest_mm(side, most_mm) if side else planned.nearer_of_both_mm(most_mm)


def _changed(flange: WantedFlange, change: Callable[[WantedFlange], WantedFlange]) -> WantedFlange:
    hung = tuple(_changed(each, change) for each in flange.flanges)
    return change(replace(flange, flanges=hung))


def _named(value: Value | None, names: dict[str, WantedFlange], bends: dict[str, WantedFlange]) -> WantedFlange | None:
    """The flange that a place is of: a face by its name, a bend by its number."""
    if not isinstance(value, Phrase):
        return None
    number = str(dict(value.values).get("number", ""))
    return (
        names.get(number) if value.code == "place.face" else bends.get(number) if value.code == "place.bend" else None
    )
