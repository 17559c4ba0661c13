"""A panel's plan as its sheet prints it: the records themselves, and what of the first piece is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from flangewise import __version__, sheet
from flangewise.bend import linear_tolerance_mm
from flangewise.findings import place
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.sheets import SheetRow, Wanted
from flangewise.part import BASE, Drawn, PanelPart
from flangewise.pattern import DrawnPanelBlank
from flangewise.sequence import watch_for
from flangewise.setup import Setup, most_loaded
from flangewise.sheet import Attachment, Measure, PanelSheet
from flangewise.shop import Shop, thickness_tolerance_mm
from flangewise.words import Phrase, phrase
from flangewise.writing import write_whole

CALIPER, PROTRACTOR = phrase("sheet.instrument.caliper"), phrase("sheet.instrument.protractor")


def made_panel_row(
    part: PanelPart,
    shop: Shop,
    wanted: Wanted,
    *,
    hashed: str,
    attach: Callable[[PanelPlan], tuple[Attachment, ...]],
    told: Callable[[PanelPlan], list[dict[str, Any]]],
) -> SheetRow:
    """Plan the panel and write its sheet; one without a plan gets none, and its old one is withdrawn.

    Raises MissingPangoError where PDF cannot be made here, OSError where the folder cannot be written.
    """
    path = sheet.sheet_path(wanted.folder, part.name, html=wanted.settings.html)
    plan = planned_panel(part, shop, watch_for(wanted.seconds))
    findings = tuple(told(plan))
    if not plan.feasible:
        return SheetRow(part.name, part.file, None, None, "failed", sheet.withdraw(path), findings, True)
    identity = sheet.Identity(hashed, __version__, sheet.replaced_by(sheet.read_record(path), hashed), wanted.date)
    record = sheet.Record(hashed, identity.replaces, None, findings)
    content = sheet.panel_sheet_bytes(printed_panel(plan, shop, attach(plan)), identity, wanted.settings, record=record)
    led_to = write_whole(path, content)
    made = sheet.read_record(path)
    pages = made.pages if made else None
    return SheetRow(part.name, part.file, path, pages, "made", None, findings, in_place_of=led_to)


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
        setup=setup,
        machine=plan.job.machine,
        handler=plan.handler,
        loads=most_loaded(setup.steps, plan.job.machine, concentrated_share=shop.defaults.concentrated_share),
        measures=(*_angles(part, setup), *_sizes(plan)),
        findings=plan.findings,
        attachments=attachments,
    )


def _angles(part: PanelPart, setup: Setup) -> Iterator[Measure]:
    """Every bend's angle, in the order of the bends."""
    made = {bend: step for step in setup.steps for bend in step.bends}
    for bend in part.panel.bends:
        step = made[bend.number]
        expected_deg = None if step.spread is None else step.spread.first_piece_deg
        allowed_deg = step.planned.tolerance_deg
        yield Measure(place("bend", bend.number), 180.0 - bend.turn_deg, allowed_deg, "deg", PROTRACTOR, expected_deg)


def _sizes(plan: PanelPlan) -> Iterator[Measure]:
    """The base along and across where it is a rectangle, and the height of every flange, as the drawing sizes them."""
    part, panel, blank = plan.part, plan.part.panel, plan.blank
    found: list[tuple[str, Phrase, float]] = []
    if isinstance(panel, Drawn):
        assert isinstance(blank, DrawnPanelBlank)
        for each in blank.finished:
            sizes_mm = each.wanted_mm or each.asked_mm
            whats = _base() if each.face == BASE else (phrase("sheet.measure.face-outside", face=each.face),)
            found += [(each.face, what, size_mm) for what, size_mm in zip(whats, sizes_mm, strict=True)]
    else:
        if len(panel.ring_mm) == 4:
            wide_mm = max(x for x, _ in panel.ring_mm) - min(x for x, _ in panel.ring_mm)
            deep_mm = max(y for _, y in panel.ring_mm) - min(y for _, y in panel.ring_mm)
            found += [(BASE, what, size_mm) for what, size_mm in zip(_base(), (wide_mm, deep_mm), strict=True)]
        for flange in panel.all_flanges():
            what = phrase(f"sheet.measure.face-{panel.sizes}", face=flange.face)
            found.append((flange.face, what, flange.tip_mm))
    given = part.tolerances
    for face, what, size_mm in found:
        allowed_mm = given.faces_mm.get(face, given.legs_mm[0] if given.legs_mm else linear_tolerance_mm(size_mm))
        yield Measure(what, size_mm, allowed_mm, "mm", CALIPER)


def _base() -> tuple[Phrase, Phrase]:
    return phrase("sheet.measure.base-along"), phrase("sheet.measure.base-across")
