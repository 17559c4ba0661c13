"""Every key of a panel and of a drawn blank reaches the part: walked from the models, two values make two parts."""

from __future__ import annotations

import copy
import json
from typing import Any

from pydantic import BaseModel

from flangewise.part.blank_file import BlankFile, LineFile
from flangewise.part.file import part_of
from flangewise.part.panel_file import (
    BaseFile,
    CornerFile,
    CornerReliefFile,
    FlangeFile,
    PanelFile,
    PanelHoleFile,
    SlotFile,
)
from flangewise.reading import read_yaml

from ..drawn.made import TOWARD, drawing, written
from .made import shop

Path = tuple[str | int, ...]
NAMES = ["near", "right", "far", "left"]
OUTLINE = [[0, 0], [200, 0], [200, 120], [0, 120]]
PANEL: dict[str, Any] = {
    "base": [200, 120],
    "flanges": {"near": {"height": 30, "bend": 90}, "right": {"height": 25, "bend": 90}},
    "corners": {"near/right": {"kind": "open"}},
    "holes": [{"at": [50, 50], "diameter": 5}],
}
BLANK: dict[str, Any] = {"file": "blank.dxf", "bend": 90, "base": [50, 40]}
NEAR, CORNER, HOLE = ("flanges", "near"), ("corners", "near/right"), ("holes", 0)
SHAPE = [[0, 0], [20, 30], [180, 30], [200, 0]]

# Where a key stands in the panel, and two values of it; what it needs beside it stands in both.
CASES: dict[tuple[type[BaseModel], str], tuple[Path, Any, Any]] = {
    (PanelFile, "base"): (("base",), [200, 120], [210, 120]),
    (PanelFile, "flanges"): (NEAR, {"height": 30, "bend": 90}, {"height": 33, "bend": 90}),
    (PanelFile, "corners"): (("corners",), "closed", "open"),
    (PanelFile, "radius"): (("radius",), 2, 3),
    (PanelFile, "sizes"): (("sizes",), "outside", "inside"),
    (PanelFile, "holes"): (("holes",), [], [{"at": [60, 50], "diameter": 5}]),
    (BaseFile, "size"): (("base",), [200, 120], [200, 130]),
    (BaseFile, "outline"): (
        ("base",),
        {"outline": OUTLINE, "names": NAMES},
        {"outline": [*OUTLINE[:2], [190, 120], [0, 120]], "names": NAMES},
    ),
    (BaseFile, "names"): (
        ("base",),
        {"outline": OUTLINE, "names": NAMES},
        {"outline": OUTLINE, "names": [*NAMES[:2], "back", "left"]},
    ),
    (FlangeFile, "height"): ((*NEAR, "height"), 30, 31),
    (FlangeFile, "shape"): (
        NEAR,
        {"bend": 90, "shape": SHAPE},
        {"bend": 90, "shape": [*SHAPE[:2], [170, 30], [200, 0]]},
    ),
    (FlangeFile, "bend"): ((*NEAR, "bend"), 90, {"turn": 90, "away": True}),
    (FlangeFile, "inset"): ((*NEAR, "inset"), 5, [5, 6]),
    (FlangeFile, "from"): ((*NEAR, "from"), 5, 6),
    (FlangeFile, "to"): ((*NEAR, "to"), 150, 160),
    (FlangeFile, "mitre"): ((*NEAR, "mitre"), 10, [10, 20]),
    (FlangeFile, "ends"): ((*NEAR, "ends"), "square", "mitre"),
    (FlangeFile, "gap"): ((*NEAR, "gap"), 0.6, 0.7),
    (FlangeFile, "relief"): ((*NEAR, "relief"), {"width": 2}, {"width": 2, "past": 1}),
    (FlangeFile, "name"): ((*NEAR, "name"), "one", "two"),
    (FlangeFile, "hung"): ((*NEAR, "tip"), {"height": 10, "bend": 90}, {"height": 11, "bend": 90}),
    (SlotFile, "width"): ((*NEAR, "relief"), {"width": 2}, {"width": 3}),
    (SlotFile, "past"): ((*NEAR, "relief"), {"past": 1}, {"past": 2}),
    (CornerFile, "kind"): (CORNER, {"kind": "closed"}, {"kind": "open"}),
    (CornerFile, "gap"): (CORNER, {"kind": "closed", "gap": 0.6}, {"kind": "closed", "gap": 0.7}),
    (CornerFile, "over"): (CORNER, {"kind": "lapped", "over": "near"}, {"kind": "lapped", "over": "right"}),
    (CornerFile, "relief"): (CORNER, {"kind": "open", "relief": "none"}, {"kind": "open", "relief": "round"}),
    (CornerReliefFile, "round"): ((*CORNER, "relief"), {"round": 4}, {"round": 5}),
    (CornerReliefFile, "square"): ((*CORNER, "relief"), {"square": 4}, {"square": 5}),
    (PanelHoleFile, "face"): (HOLE, {"at": [50, 12], "diameter": 5}, {"at": [50, 12], "diameter": 5, "face": "near"}),
    (PanelHoleFile, "at"): ((*HOLE, "at"), [50, 50], [51, 50]),
    (PanelHoleFile, "diameter"): ((*HOLE, "diameter"), 5, 6),
    (PanelHoleFile, "size"): (HOLE, {"at": [50, 50], "size": [5, 6]}, {"at": [50, 50], "size": [6, 5]}),
}
ENTRY = ("bends", 0)
AT = {"near": [50, -1]}
# The same of a blank that comes as a drawing with two bend lines.
OF_A_BLANK: dict[tuple[type[BaseModel], str], tuple[Path, Any, Any]] = {
    (BlankFile, "file"): (("file",), "blank.dxf", "other.dxf"),
    (BlankFile, "bend"): (("bend",), 90, {"turn": 80}),
    (BlankFile, "bends"): (("bends",), [], [{**AT, "turn": 60}]),
    (BlankFile, "radius"): (("radius",), 2, 3),
    (BlankFile, "base"): (("base",), [50, 40], [50, -20]),
    (BlankFile, "sizes"): (("sizes",), {"base": [100, 80]}, {"base": [100, 81]}),
    (LineFile, "near"): (ENTRY, {**AT, "turn": 60}, {"near": [101, 40], "turn": 60}),
    (LineFile, "turn"): (ENTRY, {**AT, "turn": 60}, {**AT, "turn": 61}),
    (LineFile, "included"): (ENTRY, {**AT, "included": 120}, {**AT, "included": 121}),
    **{
        (LineFile, key): (ENTRY, {**AT, key: one}, {**AT, key: other})
        for key, one, other in (
            ("radius", 2, 3),
            ("punch", "straight-88", "narrow-86"),
            ("die", "vee-12-85", "vee-10-86"),
            ("k_factor", 0.4, 0.41),
            ("tolerance", 0.5, 0.6),
        )
    },
}


def _keys(*models: type[BaseModel]) -> set[tuple[type[BaseModel], str]]:
    return {(model, field.alias or name) for model in models for name, field in model.model_fields.items()}


def _with(value: Any, path: Path, new: Any) -> Any:
    changed = copy.deepcopy(value)
    inner = changed
    for step in path[:-1]:
        inner = inner[step]
    if isinstance(inner, list) and path[-1] == len(inner):
        inner.append(new)
    else:
        inner[path[-1]] = new
    return changed


def _part(body: dict[str, Any], file: str = "p.yaml") -> Any:
    text = json.dumps({"part": "p", "material": "DC01", "thickness": 1, **body})
    return part_of(read_yaml(text, file), file, shop())


def test_every_key_of_a_panel_changes_the_part() -> None:
    models = (PanelFile, BaseFile, FlangeFile, SlotFile, CornerFile, CornerReliefFile, PanelHoleFile)
    assert set(CASES) == _keys(*models), "give two values of the key"
    alike = [
        (model.__name__, key)
        for (model, key), (path, *values) in CASES.items()
        if len({repr(_part({"panel": _with(PANEL, path, value)})) for value in values}) != 2
    ]
    assert alike == []


def test_every_key_of_a_drawn_blank_changes_the_part(tmp_path: Any) -> None:
    outline = ((0.0, -30.0), (100.0, -30.0), (100.0, 0.0), (130.0, 0.0), (130.0, 80.0), (0.0, 80.0))
    lines = (((0.0, -1.0), (100.0, -1.0), TOWARD), ((101.0, 0.0), (101.0, 80.0), TOWARD))
    written(drawing(*lines[:1], outline=outline), tmp_path).rename(tmp_path / "other.dxf")
    written(drawing(*lines, outline=outline), tmp_path)
    assert set(OF_A_BLANK) == _keys(BlankFile, LineFile), "give two values of the key"
    file = str(tmp_path / "p.yaml")
    alike = []
    for (model, key), (path, *values) in OF_A_BLANK.items():
        blank = {**BLANK, "bends": []} if path == ENTRY else BLANK
        if len({repr(_part({"blank": _with(blank, path, value)}, file)) for value in values}) != 2:
            alike.append((model.__name__, key))
    assert alike == []
