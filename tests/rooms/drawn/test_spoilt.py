"""Drawings cut off, doubled and scrambled: each gives a blank or its faults, never anything else."""

from __future__ import annotations

import io
import random
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

from flangewise.drawn import DrawnBlank, DrawnWish, LineBend, Undrawn, read_drawing

from ...how_many import one_in
from .made import AWAY, CUT, TOWARD, drawing, on

NUMBERS = range(0, 2_000, one_in(13))
# What may come to stand where a number, a name or a code was.
ODD = ("nan", "inf", "1e308", "-1e9", "0", "-1", "", "99999999999", "CUT", "BEND-TOWARD", "SPLINE", "LINE", "0x7", "\0")


def _more(space: Any) -> None:
    space.add_circle((80, 40), 10, **on(CUT))
    space.add_lwpolyline([(90, 10, 0.3), (110, 10, 0), (110, 20, 0)], format="xyb", close=True, **on(CUT))
    space.add_open_spline([(60, 60), (70, 75), (80, 60)], degree=2, **on(CUT))
    space.add_line((60, 60), (80, 60), **on(CUT))
    space.add_ellipse((55, 20), (4, 0), 0.5, **on(CUT))
    space.add_text("turn 45 r 3", dxfattribs={"layer": TOWARD, "insert": (42, 30)})
    space.add_mtext("included 120", dxfattribs={"layer": AWAY, "insert": (22, 30)})
    hole = space.doc.blocks.new("HOLE")
    hole.add_circle((0, 0), 3)
    grid = {"layer": CUT, "rotation": 30, "xscale": 2, "column_count": 2, "column_spacing": 15}
    space.add_blockref("HOLE", (100, 60), dxfattribs=grid)


def _old(space: Any) -> None:
    space.add_circle((80, 40), 10, **on(CUT))
    space.add_polyline2d([(90, 10), (110, 10), (110, 20)], close=True, **on(CUT))
    space.add_arc((80, 65), 5, 0, 180, **on(CUT))
    space.add_line((75, 65), (85, 65), **on(CUT))
    space.add_text("turn 45", dxfattribs={"layer": TOWARD, "insert": (42, 30)})


@cache
def _whole() -> tuple[bytes, ...]:
    """Drawings that can be read, as bytes: of an old version with little around them, and of a new one."""
    lines = (((40.0, 0.0), (40.0, 80.0), TOWARD), ((20.0, 0.0), (20.0, 80.0), AWAY))
    made = []
    for more, version in ((_old, "R12"), (_more, "R2000"), (_more, "R2010")):
        document, text = drawing(*lines, more=more, version=version), io.StringIO()
        document.write(text)
        made.append(document.encode(text.getvalue()))
    return tuple(made)


def spoilt(chance: random.Random) -> bytes:
    """One of the drawings, spoilt in one way: its pairs of code and value, or its bare lines and bytes.

    Most often where the entities stand.
    """
    raw = chance.choice(_whole())
    size = 2 if chance.random() < 0.8 else 1
    lines = raw.split(b"\n")
    pairs = [lines[place : place + size] for place in range(0, len(lines), size)]
    begins = next(place for place, pair in enumerate(pairs) if pair[-1].strip() == b"ENTITIES")
    low = begins if chance.random() < 0.8 else 0
    kind = chance.choice(("cut off", "doubled", "scrambled", "values", "values", "moved", "bytes", "dropped"))
    if kind == "bytes":
        changed = bytearray(raw)
        for _ in range(chance.randint(1, 5)):
            changed[chance.randrange(len(changed))] = chance.randrange(256)
        return bytes(changed)
    one, other = sorted(chance.sample(range(low, len(pairs)), k=2))
    if kind == "cut off":
        del pairs[other:]
    elif kind == "doubled":
        pairs[other:other] = pairs[one:other]
    elif kind == "dropped":
        del pairs[one : min(other, one + chance.choice((1, 2, 8, 40)))]
    elif kind == "moved":
        piece = pairs[one : one + 12]
        del pairs[one : one + 12]
        pairs[other:other] = piece
    elif kind == "scrambled":
        piece = pairs[one : one + 20]
        chance.shuffle(piece)
        pairs[one : one + 20] = piece
    else:
        for _ in range(chance.randint(1, 3)):
            place = chance.randrange(low, len(pairs))
            pairs[place] = [*pairs[place][:-1], chance.choice(ODD).encode()]
    return b"\n".join(line for pair in pairs for line in pair)


def test_the_drawings_can_be_read_before_they_are_spoilt(tmp_path: Path) -> None:
    path = tmp_path / "whole.dxf"
    faces = []
    for raw in _whole():
        path.write_bytes(raw)
        faces.append(len(read_drawing(path, DrawnWish(bend=LineBend(90.0))).faces))
    assert faces == [3, 3, 3]


def test_a_spoilt_drawing_gives_a_blank_or_faults(tmp_path: Path) -> None:
    path = tmp_path / "spoilt.dxf"
    ended: Counter[str] = Counter()
    for number in NUMBERS:
        path.write_bytes(spoilt(random.Random(number)))
        try:
            blank = read_drawing(path, DrawnWish(bend=LineBend(90.0)))
        except Undrawn as unusable:
            assert any(each.severity == "refuse" for each in unusable.findings)
            assert all(each.text() for each in unusable.findings)
            ended.update({each.code for each in unusable.findings if each.severity == "refuse"})
        else:
            assert isinstance(blank, DrawnBlank) and len(blank.faces) == len(blank.lines) + 1
            ended["a blank"] += 1
    assert ended["a blank"] > len(NUMBERS) // 10 and ended["drawn-unread"] > len(NUMBERS) // 10
    assert len(ended) > 5
