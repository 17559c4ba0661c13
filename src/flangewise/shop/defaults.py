"""shop.yaml: what holds where a part or a command says nothing."""

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from flangewise.bend import RULES
from flangewise.shop.row import Count, Frozen, NotNegative, Positive, Share, Words, unfit

PaperName = Literal["a4", "letter"]

# Stands for every machine of the shop: the one that needs the fewest seconds is taken.
ANY = "any"

if TYPE_CHECKING:
    Rule = str
else:
    Rule = Literal[tuple(RULES)]
LayerName = Annotated[str, Field(strict=True, pattern=r"^[A-Za-z0-9_-]{1,31}$")]


def _machine(value: object) -> str | tuple[str, ...]:
    fits = "write a machine's name, several in a list, or any"
    names: list[Any] = list(value) if isinstance(value, (list, tuple)) else [value]
    if not names:
        raise unfit("has no entry", fits)
    for index, name in enumerate(names):
        if not isinstance(name, str) or not name:
            raise unfit(f"{name!r} is no name", fits)
        if name in names[:index]:
            raise unfit(f"{name!r} is named twice", "name each machine once")
        if name == ANY and len(names) > 1:
            raise unfit("'any' stands beside other names", "write machine: any, or names only")
    return tuple(names) if len(names) > 1 else str(names[0])


_MACHINE_SCHEMA = {
    "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1, "uniqueItems": True}],
    "description": "a row of machines.yaml, several to choose from, or any",
}
Machines = Annotated[str | tuple[str, ...], PlainValidator(_machine), WithJsonSchema(_MACHINE_SCHEMA)]


class LayerNames(Frozen):
    """Names of the layers in a blank's DXF: letters, digits, _ and - only."""

    cut: LayerName = "CUT"
    bend_toward: LayerName = "BEND-TOWARD"
    bend_away: LayerName = "BEND-AWAY"
    mark: LayerName = "MARK"


class Defaults(Frozen):
    """The shop's defaults.

    `clearance_mm` is the least gap below which a plan draws a caution; `overbend_margin_deg` what a pair must still
    have in hand past the loaded turn; `end_short_mm` how much shorter than the bend its tools may be in all;
    `quantity` over how many parts a set-up is shared where a part does not say; `concentrated_share` the part of the
    frames' distance below which a bend may not take the full force. Along a panel's bend a row of tools keeps
    `row_clear_mm` from what stands beside it, and may leave `row_short_thicknesses` uncovered at an end where a side
    stands; within a bend its segments may stand `row_gap_thicknesses` apart.
    """

    title: Words
    machine: Machines
    handler: Words
    rule: Rule
    quantity: Count = 50
    paper: PaperName = "a4"
    language: Literal["en", "de", "es"] = "en"
    clearance_mm: NotNegative = 1.0
    overbend_margin_deg: NotNegative = 1.0
    end_short_mm: NotNegative = 0.0
    station_gap_mm: NotNegative = 20.0
    concentrated_share: Share = 0.6
    cutting_tolerance_mm: Positive = 0.1
    row_clear_mm: NotNegative = 0.5
    row_short_thicknesses: NotNegative = 2.0
    row_gap_thicknesses: NotNegative = 2.0
    layers: LayerNames = LayerNames.model_construct(
        cut="CUT", bend_toward="BEND-TOWARD", bend_away="BEND-AWAY", mark="MARK"
    )

    @property
    def machines(self) -> tuple[str, ...]:
        """The machines named: one, several to choose from, or ANY alone."""
        return (self.machine,) if isinstance(self.machine, str) else self.machine
