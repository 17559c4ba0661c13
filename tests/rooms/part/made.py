"""A plain part file and its variations, for the tests of this room."""

from __future__ import annotations

import re
from functools import cache

from flangewise.faults import Unusable
from flangewise.part import Part, read_part
from flangewise.shop import Shop, load_shop

PLAIN = """\
part: p
material: DC01
thickness: 2
section:
  length: 100
  legs: [40, 60]
  bends: [90]
"""


@cache
def shop() -> Shop:
    """The built-in example shop."""
    return load_shop()


def text(more: str = "", **changed: str) -> str:
    """The plain part with some values changed, and with more lines: keys at the top level, or of the section."""
    told = PLAIN
    for key, value in changed.items():
        told = re.sub(rf"(?m)^( *{key}): .*", rf"\1: {value}", told)
    return told + more


def read(more: str = "", **changed: str) -> Part:
    return read_part(text(more, **changed), "p.yaml", shop())


def faults(more: str = "", **changed: str) -> list[str]:
    """The faults' lines, without the file's name."""
    try:
        read(more, **changed)
    except Unusable as unusable:
        return [fault.text.removeprefix("p.yaml:") for fault in unusable.faults]
    return []
