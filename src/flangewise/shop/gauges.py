"""Sheet gauges: what thickness a gauge number is, which depends on the family of the metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from flangewise.shop.row import Positive, Row
from flangewise.units import MM_PER_INCH

GaugeNumber = Annotated[int, Field(ge=1, le=50)]


class GaugeFamily(Row):
    """One family's gauge numbers with their thickness in inches, as the tables print them."""

    thickness_inch: dict[GaugeNumber, Positive]


@dataclass(frozen=True)
class Gauges:
    """The gauge tables by family: steel, galvanized, stainless, nonferrous (AWG, for aluminium and copper alloys)."""

    families: Mapping[str, GaugeFamily]

    def thickness_mm(self, family: str, number: int) -> float:
        """Thickness of a gauge in mm, the printed inches times 25.4.

        Raises LookupError, naming the gauges there are, where the family has no such number.
        """
        table = self.families[family].thickness_inch
        if number not in table:
            raise LookupError(f"{family} has gauges {min(table)} to {max(table)}, not {number}")
        return table[number] * MM_PER_INCH
