"""The least inside radius a sheet can be bent to: tables of standards and handbooks, by thickness and grain."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from flangewise.shop.row import Angle, Frozen, NotNegative, Positive, Row, unfit

Grain = Literal["along", "across", "any"]
# A thickness written in inches may miss the limit of its band by rounding.
_SAME_MM = 1e-6


class Band(Frozen):
    """One column of a table: up to a thickness, the least radius in mm or in multiples of the thickness."""

    to_mm: Positive
    across_mm: NotNegative | None = None
    along_mm: NotNegative | None = None
    across_t: NotNegative | None = None
    along_t: NotNegative | None = None

    def radius_mm(self, thickness_mm: float, grain: Grain) -> float:
        """The band's radius; where the table does not tell the directions apart, along is as across."""
        across = self.across_mm if self.across_t is None else self.across_t * thickness_mm
        along = self.along_mm if self.along_t is None else self.along_t * thickness_mm
        assert across is not None
        along = across if along is None else along
        return {"across": across, "along": along, "any": max(across, along)}[grain]

    @model_validator(mode="after")
    def _one_way(self) -> Band:
        given = {key for key in ("across_mm", "along_mm", "across_t", "along_t") if getattr(self, key) is not None}
        if given not in ({"across_mm"}, {"across_mm", "along_mm"}, {"across_t"}, {"across_t", "along_t"}):
            wrong = f"a band with {', '.join(sorted(given)) or 'no radius'}"
            raise unfit(wrong, "give across_mm (and along_mm), or across_t (and along_t)")
        return self


class LeastRadius(Row):
    """A table of least inside radii. `floor_mm` holds below its bands' figures.

    Where `next_band_along` the standard says that bending along the rolling direction takes the value of the next
    thicker column; likewise above `next_band_over_deg` of turn. Both together move one column only.
    """

    bands: tuple[Band, ...]
    floor_mm: NotNegative = 0.0
    next_band_along: bool = False
    next_band_over_deg: Angle | None = None

    @model_validator(mode="after")
    def _bands_rise(self) -> LeastRadius:
        limits = [band.to_mm for band in self.bands]
        if not limits or limits != sorted(set(limits)):
            raise unfit("bands are missing or out of order", "write one or more, to_mm rising", key="bands")
        return self


def table_radius_mm(table: LeastRadius, thickness_mm: float, *, grain: Grain, turn_deg: float) -> float | None:
    """Least inside radius of one table, in mm; None where the thickness is beyond the table.

    Source: the table's own `source`.
    """
    index = next((i for i, band in enumerate(table.bands) if thickness_mm <= band.to_mm + _SAME_MM), None)
    if index is None or not thickness_mm > 0:
        return None
    sharper = table.next_band_over_deg is not None and turn_deg > table.next_band_over_deg
    along = table.next_band_along and grain != "across"
    if sharper or along:
        index += 1
    if index >= len(table.bands):
        return None
    return max(table.bands[index].radius_mm(thickness_mm, grain), table.floor_mm)
