"""Part, shop, measured, plan and DXF files spoilt, and what the program makes of one: a fault, an answer, or a defect.

Nothing of this runs with the tests: see `run.py`.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shutil
import signal
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from flangewise import commands
from flangewise.commands.output import json_line
from flangewise.commands.plan import plan_in, plan_record
from flangewise.faults import Unusable
from flangewise.jobs import replayed, worked_out
from flangewise.part import FoundPart, Part, read_parts
from flangewise.shop import MeasuredRow, load_shop, measured_text, parse_measured

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
TOY = ROOT / "tests" / "rooms" / "shop" / "toy_shop"
# No input may take longer to be read and answered: a blank may be searched for a minute.
MOST_S = 90.0
# Of the parts that can be read one in so many is also laid out.
LAID_OUT = 25

NUMBERS = (
    *(
        b"0",
        b"-0",
        b"-1",
        b"1e308",
        b"-1e308",
        b"1e-320",
        b".nan",
        b"nan",
        b".inf",
        b"Infinity",
        b"0x7f",
        b"1_0",
        b"90",
        b"-90",
    ),
    *(b"9" * 400, b"0.1in", b"16ga", b"180", b"179.999999", b"1e9", b"1.5.2", b"2mm", b"", b"999999999999999999999"),
)
WORDS = (
    *(
        b"null",
        b"true",
        b"~",
        b"[]",
        b"{}",
        b"[[[[[[[[",
        b"{a: {a: {a: ",
        b"&a [*a]",
        b"*a",
        b"!!python/object:os.system x",
    ),
    *(
        b"<<: *a",
        b"--- ",
        b"%YAML 9",
        b"\t",
        b"\r",
        b"\x00",
        b"\x1b[31m",
        b"\xff\xfe",
        b"\xe2\x80\xae",
        b"../../etc/passwd",
        b"'",
    ),
    *(
        b'"',
        b"|",
        b">-",
        b"? ",
        b"- ",
        b": ",
        b"#",
        b",,,",
        b";",
        b"=1+1",
        b"x" * 5000,
        b"0\nSECTION\n",
        b"  0\nEOF\n",
        b"\n",
    ),
)


@dataclass(frozen=True)
class Kind:
    """One kind of input: sound ones to begin with, and what is done with one; gives whether there was an answer."""

    seeds: tuple[bytes, ...]
    asked: Callable[[bytes], bool]


class TooLongError(BaseException):
    """An input that took longer than it may."""


def spoilt(seeds: tuple[bytes, ...], chance: random.Random) -> bytes:
    """A sound input with one to six things done to it."""
    data = bytearray(chance.choice(seeds))
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        _spoil(data, seeds, chance)
    return bytes(data)


def _spoil(data: bytearray, seeds: tuple[bytes, ...], chance: random.Random) -> None:
    at, way = chance.randrange(len(data) + 1), chance.randrange(9)
    to = min(len(data), at + chance.choice((1, 2, 5, 20, 200)))
    if way == 0 and data:
        data[min(at, len(data) - 1)] = chance.randrange(256)
    elif way == 1:
        del data[at:to]
    elif way == 2:
        data[at:at] = data[at:to] * chance.choice((1, 1, 2, 50))
    elif way == 3:
        data[at:at] = chance.choice(WORDS)
    elif way in (4, 5):
        _other_number(data, at, chance)
    elif way == 6:
        lines = data.split(b"\n")
        one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
        lines[one], lines[other] = lines[other], lines[one]
        data[:] = b"\n".join(lines)
    elif way == 7:
        other = chance.choice(seeds)
        cut = chance.randrange(len(other) + 1)
        data[at:to] = other[cut : cut + chance.choice((5, 40, 400))]
    else:
        data[at:to] = chance.choice(WORDS) + data[at:to]


def _other_number(data: bytearray, at: int, chance: random.Random) -> None:
    """The number next after a place becomes another, often one of the odd ones."""
    while at < len(data) and not chr(data[at]).isdigit():
        at += 1
    to = at
    while to < len(data) and chr(data[to]) in "0123456789.":
        to += 1
    drawn = f"{chance.choice((1, 10, 1000)) * chance.random():.3f}".encode()
    data[at:to] = chance.choice(NUMBERS) if chance.random() < 0.6 else drawn


@contextlib.contextmanager
def within(seconds: float) -> Iterator[None]:
    """While an input is asked; TooLongError where it takes longer."""

    def over(_number: int, _frame: object) -> None:
        raise TooLongError(f"over {seconds:g} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def kinds() -> dict[str, Kind]:
    """Every kind of input, ready to be asked; files go to a folder in memory where there is one."""
    os.environ["FLANGEWISE_DEBUG"] = "1"
    shop = load_shop()
    place = Path(tempfile.mkdtemp(prefix="hard-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
    part_file, drawn, table = place / "part.yaml", place / "drawn", place / "shop"
    shutil.copytree(TOY, table)
    shutil.copytree(EXAMPLES / "panels", drawn)
    tables = {file.name: file.read_bytes() for file in sorted(TOY.glob("*.yaml"))}
    drawing = drawn / "drawings" / "sun-shield-arm.dxf"
    zed = read_parts([str(EXAMPLES / "parts" / "zed.yaml")], shop)[0].part
    assert isinstance(zed, Part)
    count = 0

    def part(data: bytes) -> bool:
        nonlocal count
        part_file.write_bytes(data)
        found = read_parts([str(part_file)], shop)
        count += _is_read(found)
        if _is_read(found) and count % LAID_OUT == 0:
            _laid_out(part_file)
        return _is_read(found)

    def shop_table(data: bytes) -> bool:
        name, _, text = data.partition(b"\n")
        own = tables.get(name.decode("latin-1"))
        (table / "punches.yaml" if own is None else table / name.decode()).write_bytes(text)
        try:
            load_shop(table)
        finally:
            for file, sound in tables.items():
                (table / file).write_bytes(sound)
        return True

    def measured(data: bytes) -> bool:
        parse_measured(data.decode("utf-8-sig", errors="replace"), "measured.csv")
        return True

    def plan(data: bytes) -> bool:
        file = place / "plan.json"
        file.write_bytes(data)
        replayed(zed, shop, plan_in(file))
        return True

    def dxf(data: bytes) -> bool:
        drawing.write_bytes(data)
        return _is_read(read_parts([str(drawn / "sun-shield-arm.yaml")], shop))

    parts = [
        file for folder in ("parts", "panels", "families", "refused") for file in (EXAMPLES / folder).glob("*.yaml")
    ]
    own_plan = (json_line(plan_record(worked_out(zed, shop))) + "\n").encode()
    return {
        "part": Kind(tuple(file.read_bytes() for file in sorted(parts)), part),
        "shop": Kind(tuple(name.encode() + b"\n" + text for name, text in tables.items()), shop_table),
        "measured": Kind((measured_text([_measured_row(piece) for piece in (1, 2, 3)]).encode(),), measured),
        "plan": Kind((own_plan, json.dumps(json.loads(own_plan), indent=1).encode()), plan),
        "dxf": Kind((drawing.read_bytes(),), dxf),
    }


def _is_read(found: tuple[FoundPart, ...]) -> bool:
    return any(each.part is not None or each.panel is not None for each in found)


def _laid_out(file: Path) -> None:
    """The flat blank of a part told, whatever it is worth."""
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        status = commands.run(["--quiet", "flat", str(file), "--format", "json"])
    assert status in (0, 1, 2)


def _measured_row(piece: int) -> MeasuredRow:
    return MeasuredRow(
        *("A17", "rain-gauge-foot", 1, piece, "long-1450", "DC01", 2.0, None, "straight-88", 1.0, "vee-16-80", 90.0),
        *(3.8, 88.75, 90.0, 12.6, 1.63, 2.1, 3.83, 3.9, 0.05),
    )  # fmt: skip


def outcome(kind: Kind, data: bytes) -> str:
    """What became of an input: answer or fault; anything else that happens is raised."""
    try:
        with within(MOST_S):
            return "answer" if kind.asked(data) else "fault"
    except Unusable as unusable:
        assert unusable.faults
        return "fault"


def worst_s(kind: Kind, data: bytes) -> tuple[str, float]:
    """What became of an input, and in how many seconds."""
    begun = time.perf_counter()
    return outcome(kind, data), time.perf_counter() - begun
