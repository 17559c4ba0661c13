"""Parts worked out once for all tests of this room, by the built-in shop."""

from functools import cache
from pathlib import Path

from flangewise.jobs import Job, work_out
from flangewise.part import read_parts
from flangewise.shop import Shop, load_shop

ANGLE = """\
part: plain-angle
revision: A
material: DC01
thickness: 2
section:
  length: 120
  legs: [40, 60]
  bends: [90]
"""
ZED = """\
part: zed
revision: B
material: DC01
thickness: 2
section:
  length: 180
  legs: [25, 60, 25]
  bends: [90, -90]
  holes:
    - {leg: 2, at: [40, 30], diameter: 6.5}
"""
CHANNEL = ZED.replace("zed", "channel").replace("-90", "90")
HEM = """\
part: hem
material: DC04
thickness: 1
section:
  length: 220
  legs: [12, 150, 25]
  bends: [{hem: closed, away: true}, 90]
"""
TOO_STRONG = (
    ANGLE.replace("plain-angle", "too-strong").replace("DC01", "S355MC").replace("thickness: 2", "thickness: 8")
)
TOO_STRONG = (
    TOO_STRONG.replace("length: 120", "length: 600\n  radius: 8").replace("[40, 60]", "[80, 120]")
    + "machine: bench-310\n"
)


@cache
def shop() -> Shop:
    return load_shop(None)


def part_of(text: str, folder: Path):  # type: ignore[no-untyped-def]
    """The part in a text, read from a file of its own."""
    file = folder / "part.yaml"
    file.write_text(text)
    (found,) = read_parts([str(file)], shop())
    assert found.part is not None, found.faults
    return found.part


@cache
def job(text: str) -> Job:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        return work_out(part_of(text, Path(folder)), shop())
