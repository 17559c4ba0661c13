"""The machines that a part may be made on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flangewise.part.model import Part
from flangewise.shop import ANY, Shop

if TYPE_CHECKING:
    from flangewise.part.panel_part import PanelPart


def machines_wanted(part: Part | PanelPart, shop: Shop) -> tuple[str, ...]:
    """The machines to choose from: those the part names, else the shop's default; any is all, in the shop's order."""
    named = (part.machine,) if part.machine is not None else part.machines or shop.defaults.machines
    return tuple(shop.machines) if named == (ANY,) else named
