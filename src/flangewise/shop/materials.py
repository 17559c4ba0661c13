"""Sheet metals: strength, stiffness, gauges, tolerances of thickness, least radii, and how each was come by."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, ValidationInfo, WithJsonSchema, model_validator

from flangewise.faults import name_fits
from flangewise.shop.row import (
    Angle,
    Friction,
    Frozen,
    Mark,
    NotNegative,
    Poisson,
    Positive,
    Strain,
    TableRow,
    Words,
    unfit,
)
from flangewise.shop.trusted import Trusted
from flangewise.units import MM_PER_INCH

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
    def _one_way(self) -> "Band":
        given = {key for key in ("across_mm", "along_mm", "across_t", "along_t") if getattr(self, key) is not None}
        if given not in ({"across_mm"}, {"across_mm", "along_mm"}, {"across_t"}, {"across_t", "along_t"}):
            wrong = f"a band with {', '.join(sorted(given)) or 'no radius'}"
            raise unfit(wrong, "give across_mm (and along_mm), or across_t (and along_t)")
        return self


class LeastRadius(TableRow):
    """A table of least inside radii. `floor_mm` holds below its bands' figures.

    Where `next_band_along` the standard says that bending along the rolling direction takes the value of the next
    thicker column; likewise above `next_band_over_deg` of turn. Both together move one column only.
    """

    bands: tuple[Band, ...]
    floor_mm: NotNegative = 0.0
    next_band_along: bool = False
    next_band_over_deg: Angle | None = None

    @model_validator(mode="after")
    def _bands_rise(self) -> "LeastRadius":
        limits = [band.to_mm for band in self.bands]
        if not limits or limits != sorted(set(limits)):
            raise unfit("bands are missing or out of order", "write one or more, to_mm rising", key="bands")
        return self


def table_radius_mm(table: LeastRadius, thickness_mm: float, *, grain: Grain, turn_deg: float) -> float | None:
    """Least inside radius of one table in mm; None where the thickness is beyond it. Source: the table's `source`."""
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


GaugeNumber = Annotated[int, Field(ge=1, le=50)]


class GaugeFamily(TableRow):
    """A family's gauge numbers, thickness in inches as printed: steel, galvanized, stainless, nonferrous (AWG)."""

    thickness_inch: dict[GaugeNumber, Positive]

    def thickness_mm(self, number: int) -> float:
        """Thickness of a gauge in mm. Raises LookupError, naming the gauges there are, for another number."""
        table = self.thickness_inch
        if number not in table:
            raise LookupError(f"{self.name} has gauges {min(table)} to {max(table)}, not {number}")
        return table[number] * MM_PER_INCH


class ToleranceBand(Frozen):
    """Up to a nominal thickness, the permitted deviation either way."""

    to_mm: Positive
    deviation_mm: Positive


class ThicknessTolerance(TableRow):
    """A standard's permitted deviations of thickness for one product."""

    mark: Mark
    bands: tuple[ToleranceBand, ...]


def thickness_tolerance_mm(tables: Mapping[str, ThicknessTolerance], product: str, thickness_mm: float) -> float | None:
    """Permitted deviation of a thickness, plus or minus; None where no table covers it. Source: its `source`."""
    bands = tables[product].bands if product in tables else ()
    return next((band.deviation_mm for band in bands if thickness_mm <= band.to_mm + 1e-6), None)


Family = Literal["steel", "galvanized", "stainless", "nonferrous"]
Product = Literal["cold-rolled", "hot-rolled", "stainless", "aluminium", "copper"]
Limits = tuple[Positive | None, Positive | None]


def _look_up(name: Any, info: ValidationInfo) -> Any:
    """The table of that name in the context; where the tables could not be read (None) any name passes."""
    tables = (info.context or {}).get("least_radii", {})
    if isinstance(name, LeastRadius):
        return name
    if tables is None and isinstance(name, str):
        return LeastRadius.model_construct(name=name, bands=(Band.model_construct(to_mm=1.0, across_t=1.0),))
    if not isinstance(name, str) or name not in (tables or {}):
        raise unfit(f"no table of least radii is named {name!r}", name_fits(str(name), tables or {}))
    return tables[name]


NamedRadii = Annotated[
    LeastRadius,
    BeforeValidator(_look_up),
    Trusted(lambda name, context: context["least_radii"][name]),
    PlainSerializer(lambda table: table.name),
    WithJsonSchema({"type": "string", "description": "the name of a table of least radii"}),
]


class Material(TableRow):
    """A sheet metal. Single figures are the planning values; ranges are the limits of its standard, None where open.

    `uniform_elongation` is the strain at the highest force, not at break. `family` is the gauge table that numbers its
    thicknesses, `product` the table of thickness tolerances, `mark` says whether the standard's figures were read or
    recalled.
    """

    standard: Words
    yield_mpa: Positive
    yield_range_mpa: Limits
    tensile_mpa: Positive
    tensile_range_mpa: Limits
    uniform_elongation: Strain
    modulus_mpa: Positive
    poisson: Poisson
    density_kg_per_m3: Positive
    friction: Friction
    austenitic: bool
    family: Family
    product: Product
    least_radius: NamedRadii
    mark: Mark

    @model_validator(mode="after")
    def _hangs_together(self) -> "Material":
        if self.yield_mpa > self.tensile_mpa:
            wrong = f"{self.yield_mpa:g} is more than the tensile strength"
            raise unfit(wrong, f"it is at most {self.tensile_mpa:g}", key="yield_mpa")
        for name in ("yield_range_mpa", "tensile_range_mpa"):
            least, most = getattr(self, name)
            if least is not None and most is not None and least >= most:
                raise unfit(f"[{least:g}, {most:g}] does not rise", "write [least, most]", key=name)
        return self
