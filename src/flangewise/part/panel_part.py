"""The part that a file with `panel:` or `blank:` makes."""

from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, GetPydanticSchema, WithJsonSchema

from flangewise.part import kinds
from flangewise.part.blank_file import BlankFile
from flangewise.part.drawn import Drawn
from flangewise.part.model import Card, DrawingTolerances, Sheet
from flangewise.part.panel import Panel
from flangewise.part.panel_file import PanelFile
from flangewise.records import dataclass, field
from flangewise.shop import ANY

# The file's mapping is checked whole, then made a panel.
_PANEL = GetPydanticSchema(
    lambda _, handler: handler.generate_schema(Annotated[PanelFile, AfterValidator(lambda file: file.wanted())])
)


def _figure(value: Any) -> Any:
    return None if isinstance(value, dict) else value


def _by_face(value: Any) -> Any:
    return value if isinstance(value, dict) else {}


@dataclass(frozen=True)
class PanelTolerances(DrawingTolerances):
    """What the drawing allows of a panel, plus and minus: one figure for all faces, or one each by name."""

    __pydantic_config__ = kinds.STRICT

    legs_mm: Annotated[
        tuple[float, ...] | None,
        GetPydanticSchema(
            lambda _, handler: handler.generate_schema(
                Annotated[kinds.LengthTolerance | None, AfterValidator(lambda one: None if one is None else (one,))]
            )
        ),
        BeforeValidator(_figure),
        Field(alias="legs"),
        WithJsonSchema(
            {"anyOf": [kinds.LENGTH_SCHEMA, {"type": "object", "additionalProperties": kinds.LENGTH_SCHEMA}]}
        ),
    ] = None
    faces_mm: Annotated[dict[str, kinds.LengthTolerance], BeforeValidator(_by_face), Field(alias="legs")] = field(
        default_factory=dict
    )


@dataclass(frozen=True)
class OfPanel(Sheet):
    """A sheet that is bent to a panel."""

    panel: Annotated[Panel, _PANEL]


@dataclass(frozen=True)
class PanelPartFile(Card, OfPanel):
    """A part file with a panel."""

    __pydantic_config__ = kinds.STRICT

    tolerances: PanelTolerances = field(default_factory=PanelTolerances)


@dataclass(frozen=True)
class OfBlank(Sheet):
    """A sheet that comes as a flat blank, drawn."""

    blank: BlankFile


@dataclass(frozen=True)
class BlankPartFile(Card, OfBlank):
    """A part file with a drawn blank."""

    __pydantic_config__ = kinds.STRICT

    tolerances: PanelTolerances = field(default_factory=PanelTolerances)


@dataclass(frozen=True)
class OfTree(Sheet):
    """A sheet that is bent to a tree of faces."""

    panel: Panel | Drawn


@dataclass(frozen=True)
class PanelPart(Card, OfTree):
    """A part file with a panel or a drawn blank found usable; `machine` as of a part with a section."""

    tolerances: PanelTolerances = field(default_factory=PanelTolerances)
    file: str = ""
    machine: str | None = None
    of_family: bool = False


def one_machine(given: dict[str, Any]) -> dict[str, Any]:
    """The values of a part file; one machine named stands alone."""
    machines = given["machines"]
    if len(machines) == 1 and machines != (ANY,):
        return given | {"machine": machines[0], "machines": ()}
    return given
