"""The keys of `blank:` in a part file: the drawing, and what is said of its bend lines beside it."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from flangewise.bend import FULL_FOLD_DEG
from flangewise.drawn import BendEntry, DrawnWish, LineBend
from flangewise.part import fields, kinds
from flangewise.part.bends import Bend, BendFile, WantedBend
from flangewise.part.panel_file import Place
from flangewise.shop import LayerNames, unfit
from flangewise.units import trimmed

MOST_ENTRIES = 1000
MOST_SIZES = 1000
# What of a bend's keys the drawing itself says, or a drawn blank does not have.
_SAID_BY_LAYER = "the layer of a line says which way it goes: leave it out"
_NOT_DRAWN = ("hem", "gap", "offset", "gauge", "face")


def _check_line(bend: BendFile, steps: str | None = None) -> None:
    if bend.away:
        raise unfit("names a direction", _SAID_BY_LAYER, key=steps)
    for key in _NOT_DRAWN:
        if getattr(bend, key) is not None:
            raise unfit(f"{key} is not read of a drawn bend line", f"leave `{key}` out", key=steps)


class LineFile(kinds.Keys):
    """What is said of the bend line nearest to a point; what is left out is said by a text, or by `bend`."""

    near: Place
    turn: kinds.Angle | None = None
    included: kinds.Angle | None = None
    radius: kinds.Radius | None = None
    punch: kinds.Text | None = None
    die: kinds.Text | None = None
    k_factor: kinds.KFactor | None = None
    tolerance: kinds.AngleTolerance | None = None

    @model_validator(mode="after")
    def _check(self) -> "LineFile":
        if self.turn is not None and self.included is not None:
            raise unfit("turn and included are both given", "keep one of them", key="included")
        turn_deg = self.turn_deg
        if (
            turn_deg is not None
            and not fields.LEAST_TURN_DEG - fields.NOTHING_DEG <= turn_deg <= fields.LARGEST_TURN_DEG
        ):
            told = f"a turn of {trimmed(turn_deg, 3)}° is no bend"
            raise unfit(told, f"a turn is from {fields.LEAST_TURN_DEG:g} to {fields.LARGEST_TURN_DEG:g}°")
        return self

    @property
    def turn_deg(self) -> float | None:
        """The turn, where the entry names an angle."""
        return FULL_FOLD_DEG - self.included if self.included is not None else self.turn


def _each(value: Any) -> Any:
    return value if isinstance(value, list) else [value]


_LENGTHS: dict[str, Any] = {"type": "array", "items": kinds.LENGTH_SCHEMA, "minItems": 1, "maxItems": 2}
Sides = Annotated[
    list[kinds.Length],
    Field(min_length=1, max_length=2),
    BeforeValidator(_each),
    WithJsonSchema({"anyOf": [kinds.LENGTH_SCHEMA, _LENGTHS]}),
]


class BlankFile(kinds.Keys):
    """A flat blank that comes as a drawing; `sizes` are finished ones that it is to come to, by face."""

    file: kinds.Text
    bend: Bend | None = None
    bends: Annotated[list[LineFile], Field(max_length=MOST_ENTRIES)] = Field(default_factory=list)
    radius: kinds.Radius | None = None
    base: Place | None = None
    sizes: Annotated[dict[str, Sides], Field(max_length=MOST_SIZES)] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _check(self) -> "BlankFile":
        if self.bend is not None:
            _check_line(self.bend, "bend")
        return self

    def wish(self, units: str | None, layers: LayerNames) -> DrawnWish:
        """What is asked of the drawing; `units` as the file names them, None where it does not."""
        said = None if self.bend is None else self.bend.wanted(0)
        return DrawnWish(
            units=units,
            layers=layers,
            bend=None if said is None else LineBend(said.turn_deg, said.radius_mm),
            entries=tuple(BendEntry((each.near[0], each.near[1]), each.turn_deg, each.radius) for each in self.bends),
            base_mm=None if self.base is None else (self.base[0], self.base[1]),
        )

    def wanted(self, number: int, *, bend: LineBend, toward: bool, entry: int | None) -> WantedBend:
        """The bend on the line of that number: its angle by the drawing, its tools by its entry, else by `bend`."""
        own, rest = None if entry is None else self.bends[entry], self.bend

        def said(key: str) -> Any:
            first = None if own is None else getattr(own, key)
            return first if first is not None or rest is None else getattr(rest, key)

        return WantedBend(
            number,
            bend.turn_deg,
            not toward,
            radius_mm=bend.radius_mm,
            punch=said("punch"),
            die=said("die"),
            k_factor=said("k_factor"),
            tolerance_deg=said("tolerance"),
        )
