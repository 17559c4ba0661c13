"""A panel's plan as its sheet prints it: the records themselves, and what of the first piece is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from flangewise import sheet
from flangewise.bend import linear_tolerance_mm
from flangewise.findings import place
from flangewise.jobs.panel_by_hand import panel_from_plan
from flangewise.jobs.panel_cell import panel_cell_plan
from flangewise.jobs.panel_mends import worked_out_panel
from flangewise.jobs.panel_plan import PanelPlan
from flangewise.jobs.printed import over_layers
from flangewise.jobs.sheets import Draft, Order, Wanted, draft_of, identity_of, no_sheet
from flangewise.part import Drawn, PanelPart, Part
from flangewise.pattern import DrawnPanelBlank
from flangewise.sequence import watch_for
from flangewise.setup import Setup, most_loaded
from flangewise.sheet import Attachment, Measure, PanelSheet
from flangewise.shop import Shop, thickness_tolerance_mm
from flangewise.words import Phrase, phrase

CALIPER, PROTRACTOR = phrase("sheet.instrument.caliper"), phrase("sheet.instrument.protractor")


def drafted_panel(
    order: Order,
    shop: Shop,
    wanted: Wanted,
    *,
    attach: Callable[[PanelPlan], tuple[Attachment, ...]],
    told: Callable[[PanelPlan], list[dict[str, Any]]],
    plan: Mapping[str, Any] | None = None,
) -> Draft:
    """Plan the panel and make its sheet; one without a plan gets none. Nothing is read or written.

    With a `plan` edited by hand that is what is printed.

    Raises Unusable where the plan cannot be read, MissingPangoError where PDF cannot be made here.
    """
    part = order.part
    assert not isinstance(part, Part)
    watch = watch_for(wanted.seconds)
    made = worked_out_panel(part, shop, watch) if plan is None else panel_from_plan(part, shop, plan, watch=watch)
    findings = tuple(told(made))
    if not made.feasible:
        return no_sheet(part, findings, by_hand=plan is not None)
    record = sheet.Record(order.hashed, order.replaces, None, findings)
    identity = identity_of(order, wanted)
    content = sheet.panel_sheet_bytes(printed_panel(made, shop, attach(made)), identity, wanted.settings, record=record)
    return draft_of(part, wanted, content, findings)


def printed_panel(plan: PanelPlan, shop: Shop, attachments: tuple[Attachment, ...] = ()) -> PanelSheet:
    """The sheet of a panel that has a plan. Raises ValueError for one that has none: it gets no sheet."""
    part, blank, setup = plan.part, plan.blank, plan.setup
    if setup is None or blank is None or not plan.feasible:
        raise ValueError(f"{part.name} has no plan")
    material = shop.materials[part.material]
    return PanelSheet(
        part=part,
        material=material,
        thickness_tolerance_mm=thickness_tolerance_mm(shop.tolerances, material.product, part.thickness_mm),
        blank=blank,
        sizes=plan.sizes,
        setup=setup,
        machine=plan.job.machine,
        handler=plan.handler,
        loads=most_loaded(setup.steps, plan.job.machine, concentrated_share=shop.defaults.concentrated_share),
        measures=(*_angles(part, setup), *_sizes(plan)),
        findings=plan.findings,
        attachments=attachments,
        grips=plan.grips,
        run=panel_cell_plan(plan, shop) if plan.handler.kind == "robot" else None,
    )


def _angles(part: PanelPart, setup: Setup) -> Iterator[Measure]:
    """Every bend's angle, a hem over its layers, in the order of the bends."""
    made = {bend: step for step in setup.steps for bend in step.bends}
    for bend in part.panel.bends:
        if bend.kind != "bend":
            yield over_layers(bend, part.thickness_mm)
            continue
        step = made[bend.number]
        expected_deg = None if step.spread is None else step.spread.first_piece_deg
        allowed_deg = step.planned.tolerance_deg
        yield Measure(place("bend", bend.number), 180.0 - bend.turn_deg, allowed_deg, "deg", PROTRACTOR, expected_deg)


def _sizes(plan: PanelPlan) -> Iterator[Measure]:
    """Every size of the panel by its number, as a correction names it: the base over its edges, then each flange.

    Of a drawn blank, which is cut as it is drawn, what its faces should come to.
    """
    part, panel, blank = plan.part, plan.part.panel, plan.blank
    for number, size in enumerate(plan.sizes, start=1):
        yield Measure(
            _what(size.name, panel.sizes), size.nominal_mm, size.allowed_mm, "mm", CALIPER, size.statistical_mm, number
        )
    given = part.tolerances
    for each in blank.finished if isinstance(panel, Drawn) and isinstance(blank, DrawnPanelBlank) else ():
        for size_mm in each.wanted_mm or each.asked_mm:
            own_mm = given.legs_mm[0] if given.legs_mm else linear_tolerance_mm(size_mm)
            yield Measure(_what(each.face, "outside"), size_mm, given.faces_mm.get(each.face, own_mm), "mm", CALIPER)


def _what(face: str, sizes: str) -> Phrase:
    return phrase(f"sheet.measure.face-{sizes}", face=face)
