"""Rows of the built-in tables, which the package's tests check whole, made without checking them again.

Building the checkers and running them would take longer than the rest of a `bend`; a test holds these rows equal to
checked ones, field by field.
"""

from collections.abc import Callable, Mapping
from functools import cache, partial
from typing import Any, TypeVar

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from flangewise.records import dataclass

ModelT = TypeVar("ModelT", bound=BaseModel)
Context = Mapping[str, Any]
Maker = Callable[[Any, Context], Any]


@dataclass(frozen=True)
class Trusted:
    """Marks a field whose value in the file is turned into its type by a function of the value and the context."""

    make: Maker


def put_together(model: type[ModelT], given: Mapping[str, Any], context: Context) -> ModelT:
    """A row from values known to be sound, equal to what checking them would give. Nothing is checked."""
    makers = _makers(model)
    return model.model_construct(**{key: makers[key](value, context) for key, value in given.items()})


@cache
def _makers(model: type[BaseModel]) -> dict[str, Maker]:
    """For each field of a model, what turns its value in the file into its type."""
    plain = {key: partial(_plain, leaves(field.annotation)) for key, field in model.model_fields.items()}
    marked = ((key, each) for key, field in model.model_fields.items() for each in _marks(field))
    return plain | {key: each.make for key, each in marked if isinstance(each, Trusted)}


def _marks(field: FieldInfo) -> tuple[Any, ...]:
    """What a field is marked with, itself or one of the types it may be."""
    within = (getattr(each, "__metadata__", ()) for each in getattr(field.annotation, "__args__", ()))
    return (*field.metadata, *(mark for marks in within for mark in marks))


def _plain(kinds: tuple[Any, ...], value: Any, context: Context) -> Any:
    if isinstance(value, list):
        return tuple(_plain(kinds, each, context) for each in value)
    if isinstance(value, dict):
        model = model_in(kinds)
        if model is None:
            return {key: _plain(kinds[2:], each, context) for key, each in value.items()}
        return put_together(model, value, context)
    return float(value) if type(value) is int and float in kinds else value


def leaves(annotation: Any) -> tuple[Any, ...]:
    """The plain types an annotation is made of, in its order."""
    arguments = getattr(annotation, "__args__", ())
    if isinstance(annotation, type) and not arguments:
        return (annotation,)
    origin = getattr(annotation, "__origin__", None)
    inner = (leaves(each) for each in (*((origin,) if isinstance(origin, type) else ()), *arguments))
    return tuple(leaf for each in inner for leaf in each)


def model_in(kinds: tuple[Any, ...]) -> type[BaseModel] | None:
    """The model among the plain types of an annotation, or None."""
    return next((leaf for leaf in kinds if issubclass(leaf, BaseModel)), None)
