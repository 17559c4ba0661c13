"""Panels with values changed at random: told as faults or findings, or laid out; never a fault of the program."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from flangewise.faults import Unusable
from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.pattern import NoBlank, dxf_bytes, lay_out_panel
from flangewise.reading import read_yaml

from ..how_many import one_in
from ..laws.sections import shop

EXAMPLES = sorted((Path(__file__).parents[2] / "examples" / "panels").glob("*.yaml"))
RUNS = range(0, 2000, one_in(40))
VALUES: tuple[Any, ...] = (
    *(None, 0, -1, 1, 1e-3, 1e9, "x", "near", "2mm", [], {}, [1], [1, 2], [1, 2, 3], True, 90, -90, 45),
    *({"turn": 60}, {"hem": "closed"}, {"hem": "open", "gap": 2}, {"offset": 4}, "all", "closed", "round"),
    *([[0, 0], [5, 5], [9, 0]], {"height": 20, "bend": 90}, {"round": 3}, {"square": 3}),
)
FACTORS = (0, 0.1, 0.3, 0.5, 0.9, 1.1, 1.5, 2, 3, 7)
KEYS = ("tip", "left", "right", "near", "from", "to", "inset", "mitre", "ends", "shape", "height", "edge 1", "relief")


def _paths(data: Any, above: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield above
    below = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in below:
        yield from _paths(value, (*above, key))


def _at(data: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        data = data[key]
    return data


def _mutated(draw: random.Random, data: dict[str, Any]) -> dict[str, Any]:
    data = copy.deepcopy(data)
    for _ in range(draw.choice((1, 1, 2, 4))):
        paths = [path for path in _paths(data) if path and path[0] == "panel"]
        numbers = [path for path in paths if type(_at(data, path)) in (int, float)]
        if not paths:
            break
        sort = draw.random()
        if sort < 0.6 and numbers:
            path = draw.choice(numbers)
            _at(data, path[:-1])[path[-1]] *= draw.choice(FACTORS)
            continue
        path = draw.choice(paths)
        above = _at(data, path[:-1])
        if sort < 0.8 or not isinstance(above, dict):
            above[path[-1]] = copy.deepcopy(draw.choice(VALUES))
        else:
            above[draw.choice(KEYS)] = copy.deepcopy(draw.choice(VALUES))
    return data


def _outcome(draw: random.Random, data: dict[str, Any]) -> str:
    try:
        part = part_of(read_yaml(json.dumps(data), "p.yaml"), "p.yaml", shop())
    except Unusable as unusable:
        assert unusable.faults and all(fault.wrong and fault.fits for fault in unusable.faults)
        return "unusable"
    if not isinstance(part, PanelPart):
        return "section"
    radius_mm = draw.choice((0.3, 2.0, 5.0))
    radii_mm = {each.number: (each.gap_mm or 0) / 2 if each.kind == "hem" else radius_mm for each in part.panel.bends}
    try:
        blank = lay_out_panel(part, shop(), radii_mm=radii_mm)
    except NoBlank as none:
        assert none.findings and str(none)
        return "no blank"
    assert blank.area_mm2 > 0 and all(finding.text() for finding in blank.findings)
    assert dxf_bytes(blank)
    return "blank"


def test_panels_changed_at_random_are_told_or_laid_out() -> None:
    parts = [yaml.safe_load(file.read_text(encoding="utf-8")) for file in EXAMPLES]
    found: Counter[str] = Counter()
    for seed in RUNS:
        draw = random.Random(seed)
        found[_outcome(draw, _mutated(draw, draw.choice(parts)))] += 1
    assert sum(found.values()) == len(RUNS)
    assert min(found["unusable"], found["blank"], found["no blank"]) >= 1
