"""A shop folder to edit: the built-in tables, written out."""

from __future__ import annotations

from collections.abc import Callable, Collection
from pathlib import Path

import pytest

from flangewise.faults import Fault, Unusable
from flangewise.shop import TABLES, Shop, copy_shop, load_shop

Edit = Callable[[str, str, str], None]


@pytest.fixture(scope="session")
def shop() -> Shop:
    """The built-in shop, whole."""
    return load_shop()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A fresh copy of the built-in shop."""
    copy_shop(tmp_path / "shop")
    return tmp_path / "shop"


@pytest.fixture
def edit(folder: Path) -> Edit:
    """Replace a text, once, in one file of the folder."""

    def edited(file: str, old: str, new: str) -> None:
        path = folder / file
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{file} no longer has {old!r}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    return edited


@pytest.fixture
def faults(folder: Path) -> Callable[..., list[Fault]]:
    """The faults of the folder as it stands, of all its tables or of some."""

    def found(tables: Collection[str] = TABLES) -> list[Fault]:
        try:
            load_shop(folder, tables)
        except Unusable as unusable:
            return list(unusable.faults)
        return []

    return found
