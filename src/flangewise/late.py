"""Modules of a room that are loaded when one of their names is first asked for, so that a command starts quickly."""

from collections.abc import Callable, Collection
from importlib import import_module


def late(room: str, *modules: str, **kept: Collection[str]) -> Callable[[str], object]:
    """The `__getattr__` of a room's front door: a name of these modules, asked one after the other.

    A module given with its names in `kept` is loaded for one of those only. AttributeError for a name that none of them
    has. Which names are otherwise the room's own stands in its imports for type checkers, and nowhere a second time.
    """

    def named(name: str) -> object:
        asked = [module for module, names in kept.items() if name in names] or modules
        if not name.startswith("_") and name not in (*modules, *kept):
            for module in asked:
                loaded = import_module(f"{room}.{module}")
                if hasattr(loaded, name):
                    return getattr(loaded, name)
        raise AttributeError(f"module {room!r} has no attribute {name!r}")

    return named
