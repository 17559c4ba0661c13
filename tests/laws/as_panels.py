"""Sections of the examples, and the same written as panels: the first leg is the base, each other hangs on the last."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

EXAMPLES = Path(__file__).parents[2] / "examples" / "parts"
# What no panel can say: which face is to look good is no key of panels.
NOT_SAID = {"cable-clip"}


def sections() -> dict[str, dict[str, Any]]:
    """The examples that a panel can express, without their holes, by the name of their file."""
    found = {}
    for file in sorted(EXAMPLES.glob("*.yaml")):
        if file.stem in NOT_SAID:
            continue
        data = yaml.safe_load(file.read_text(encoding="utf-8"))
        data["section"].pop("holes", None)
        found[file.stem] = data
    return found


def as_panel(data: dict[str, Any]) -> dict[str, Any]:
    """The same part as a panel."""
    section = data["section"]
    first, *legs = section["legs"]
    hung: dict[str, Any] | None = None
    for leg, bend in reversed(list(zip(legs, section["bends"], strict=True))):
        hung = {"height": leg, "bend": bend, **({} if hung is None else {"tip": hung})}
    panel = {"base": [section["length"], first], "flanges": {"far": hung}}
    panel |= {key: section[key] for key in ("radius", "sizes") if key in section}
    return {**{key: value for key, value in data.items() if key != "section"}, "panel": panel}
