"""Materials: strength, stiffness, least radius, and how each figure was come by."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, PlainSerializer, ValidationInfo, WithJsonSchema, model_validator

from flangewise.faults import name_fits
from flangewise.shop.radii import Band, LeastRadius
from flangewise.shop.row import Friction, Mark, Poisson, Positive, Row, Strain, Words, unfit
from flangewise.shop.trusted import Trusted

Family = Literal["steel", "galvanized", "stainless", "nonferrous"]
Product = Literal["cold-rolled", "hot-rolled", "stainless", "aluminium", "copper"]
Limits = tuple[Positive | None, Positive | None]


def _look_up(name: Any, info: ValidationInfo) -> Any:
    """The table of least radii of that name, from the tables the reader hands over as context.

    Where those could not be read themselves (None), any name passes: their own faults are told, not what follows.
    """
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


class Material(Row):
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
    def _hangs_together(self) -> Material:
        if self.yield_mpa > self.tensile_mpa:
            wrong = f"{self.yield_mpa:g} is more than the tensile strength"
            raise unfit(wrong, f"it is at most {self.tensile_mpa:g}", key="yield_mpa")
        for name in ("yield_range_mpa", "tensile_range_mpa"):
            least, most = getattr(self, name)
            if least is not None and most is not None and least >= most:
                raise unfit(f"[{least:g}, {most:g}] does not rise", "write [least, most]", key=name)
        return self
