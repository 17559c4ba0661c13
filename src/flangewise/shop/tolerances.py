"""How much a sheet's thickness may be off, by the standard of its product."""

from __future__ import annotations

from collections.abc import Mapping

from flangewise.shop.row import Frozen, Mark, Positive, Row


class ToleranceBand(Frozen):
    """Up to a nominal thickness, the permitted deviation either way."""

    to_mm: Positive
    deviation_mm: Positive


class ThicknessTolerance(Row):
    """A standard's permitted deviations of thickness for one product."""

    mark: Mark
    bands: tuple[ToleranceBand, ...]


def thickness_tolerance_mm(tables: Mapping[str, ThicknessTolerance], product: str, thickness_mm: float) -> float | None:
    """Permitted deviation of a sheet's thickness, plus or minus, in mm; None where no table covers it.

    The upper limit of a band belongs to it. Source: the table's own `source`.
    """
    table = tables.get(product)
    if table is None:
        return None
    return next((band.deviation_mm for band in table.bands if thickness_mm <= band.to_mm + 1e-6), None)
