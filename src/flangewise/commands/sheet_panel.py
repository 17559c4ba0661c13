"""The sheet of a panel: planned, printed, and its plan and blank put inside."""

from __future__ import annotations

from typing import Any

from flangewise.commands.output import finding_records, json_line
from flangewise.commands.plan_panel import panel_plan_record
from flangewise.jobs import PanelPlan, drafted_panel, sheets
from flangewise.pattern import dxf_bytes
from flangewise.sheet import Attachment
from flangewise.shop import Shop
from flangewise.words import phrase


def draft_panel(order: sheets.Order, shop: Shop, wanted: sheets.Wanted, plan: sheets.Plan | None) -> sheets.Draft:
    """One sheet of a panel, as a plan has it that was edited by hand where one is given; or why there is none."""

    def told(plan: PanelPlan) -> list[dict[str, Any]]:
        return finding_records(plan.findings, plan=True, lang=wanted.settings.lang)

    def attached(plan: PanelPlan) -> tuple[Attachment, ...]:
        assert plan.blank is not None
        record = (json_line(panel_plan_record(plan, {})) + "\n").encode()
        blank = dxf_bytes(plan.blank, shop.defaults.layers)
        return (
            Attachment(f"{order.part.name}.plan.json", record, phrase("sheet.attached.plan")),
            Attachment(f"{order.part.name}.dxf", blank, phrase("sheet.attached.blank")),
        )

    return drafted_panel(order, shop, wanted, attach=attached, told=told, plan=plan)
