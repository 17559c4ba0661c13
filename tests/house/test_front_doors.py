"""Front doors: what they list they have, that of modules loaded late among it."""

from __future__ import annotations

import importlib

import pytest

from .source_tree import listed, modules

DOORS = [
    module.name for module in modules() if module.path.name == "__init__.py" and module.name not in ("", "commands")
]


@pytest.mark.parametrize("room", DOORS)
def test_everything_listed_is_there(room: str) -> None:
    door = importlib.import_module(f"flangewise.{room}")
    assert [name for name in listed(door.__name__) if not hasattr(door, name)] == []
    with pytest.raises(AttributeError, match="no attribute 'hammer'"):
        door.hammer
