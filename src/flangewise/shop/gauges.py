"""Sheet gauges: what thickness a gauge number is, which depends on the family of the metal."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from flangewise.shop.row import Positive, Row
from flangewise.units import MM_PER_INCH

GaugeNumber = Annotated[int, Field(ge=1, le=50)]


class GaugeFamily(Row):
    """One family's gauge numbers with their thickness in inches, as the tables print them.

    The families: steel, galvanized, stainless, nonferrous (AWG, for aluminium and copper alloys).
    """

    thickness_inch: dict[GaugeNumber, Positive]

    def thickness_mm(self, number: int) -> float:
        """Thickness of a gauge in mm, the printed inches times 25.4.

        Raises LookupError, naming the gauges there are, where the family has no such number.
        """
        table = self.thickness_inch
        if number not in table:
            raise LookupError(f"{self.name} has gauges {min(table)} to {max(table)}, not {number}")
        return table[number] * MM_PER_INCH
