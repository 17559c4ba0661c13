"""What the commands write, read back: text by heading, CSV by column, JSON by key, the sheet by label."""

from __future__ import annotations

import csv
import hashlib
import html
import io
import json
import math
import re
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from flangewise.writing import write_whole

from ..house.running import run

EXAMPLES = Path(__file__).parents[2] / "examples" / "parts"
INCH_MM = 25.4
Record = dict[str, Any]

WANTED: dict[str, Record] = {
    record["part"]: record for record in (yaml.safe_load(file.read_text()) for file in sorted(EXAMPLES.glob("*.yaml")))
}
"""The example part files by the part's name, as YAML alone reads them."""
NAMES = sorted(WANTED)
PLAIN = [
    name
    for name in NAMES
    if not {"hem", "offset"}
    & {key for bend in WANTED[name]["section"]["bends"] if isinstance(bend, dict) for key in bend}
]
"""The parts of which every bend is a plain one."""


def in_mm(name: str, size: float | str) -> float:
    """A length of a part file in mm; sheet of 16 gauge is 0.0598 inch (steel, from memory)."""
    if size == "16ga":
        return 0.0598 * INCH_MM
    return float(size) * (INCH_MM if WANTED[name].get("units") == "inch" else 1.0)


def signed_turns_deg(name: str) -> list[float]:
    """The turns that the part file asks for, positive toward the marked face."""
    turns = []
    for bend in WANTED[name]["section"]["bends"]:
        if not isinstance(bend, dict):
            turns.append(float(bend))
            continue
        turn = 180.0 if "hem" in bend else bend.get("turn", 180.0 - bend["included"] if "included" in bend else 90.0)
        turns.append(-turn if bend.get("away") else turn)
    return turns


FOLDERS: list[Path] = []
"""The folder of this process of the run, once it is made; pytest clears it away."""
SHARED: list[Path] = []
"""The folder of all processes of the run."""


def folder() -> Path:
    """A folder of this process that the commands write into."""
    return FOLDERS[-1]


@cache
def out_of(*arguments: str) -> str:
    """Standard output of a command that could use its input, told once in a run of tests, whatever process asks."""
    told = SHARED[-1] / f"{hashlib.sha256(repr(arguments).encode()).hexdigest()}.txt"
    if not told.exists():
        status, out, err = run("--quiet", *arguments)
        assert status in (0, 1), err
        write_whole(told, out.encode())
    return told.read_bytes().decode()


def by_part(*arguments: str) -> dict[str, Record]:
    """The JSON lines of a command over all examples, by part."""
    lines = [json.loads(line) for line in out_of(*arguments, str(EXAMPLES), "--format", "json").splitlines()]
    return {line["part"]: line for line in lines}


@cache
def plans() -> dict[str, Record]:
    """The plans of all examples."""
    return by_part("plan")


@cache
def flats() -> dict[str, Record]:
    """The blanks of all examples."""
    return by_part("flat")


@cache
def listed(table: str) -> dict[str, Record]:
    """The rows of a table of the example shop, by name."""
    rows = [json.loads(line) for line in out_of("shop", "list", table, "--format", "json").splitlines()]
    return {row["name"]: row for row in rows}


def holes_of(name: str) -> list[tuple[float, float]]:
    """Centres of the holes on the blank, from the datum corner, by the part file and the blank's zones."""
    found, thick = [], in_mm(name, WANTED[name]["thickness"])
    for hole in WANTED[name]["section"].get("holes", ()):
        along, up = (in_mm(name, each) for each in hole["at"])
        if hole["leg"] > 1:
            bend = flats()[name]["bends"][hole["leg"] - 2]
            half = math.radians(bend["turn_deg"]) / 2
            up += bend["zone_mm"][1] - (bend["inside_radius_mm"] + thick) * math.tan(half)
        found.append((along, up))
    return found


def start_is_behind(step: Record) -> bool:
    """Whether the start edge looks to the backgauge: it is on the stops itself, or a flange on its side of the bend."""
    gauged = step["gauged_on"]
    return gauged["on"] == "start" or (gauged["on"] == "flange" and gauged["bend"] < step["bends"][0])


def file_of(name: str) -> str:
    """The part file of an example."""
    return str(next(file for file in EXAMPLES.glob("*.yaml") if f"part: {name}\n" in file.read_text()))


def csv_rows(text: str) -> list[dict[str, str]]:
    """CSV by column."""
    return list(csv.DictReader(io.StringIO(text)))


def table_of(text: str, first: str) -> tuple[list[str], list[list[str]]]:
    """The table that begins with a heading, in a text: its headings and rows, cells two blanks apart."""
    lines = text.splitlines()
    at = next(index for index, line in enumerate(lines) if re.match(rf"\s*{first}\s\s", line))
    rows = []
    for line in lines[at + 1 :]:
        if not line.strip():
            break
        rows.append(re.split(r"\s{2,}", line.strip()))
    heads = re.split(r"\s{2,}", lines[at].strip())
    return heads, [row for row in rows if len(row) == len(heads)]


def by_heading(text: str, first: str) -> list[dict[str, str]]:
    """The rows of a table by heading; what stands under a row, indented, by its own."""
    lines = text.splitlines()
    at = next(index for index, line in enumerate(lines) if re.match(rf"\s*{first}\s\s", line))
    end = next((index for index, line in enumerate(lines) if index > at and not line.strip()), len(lines))
    heads = re.split(r"\s{2,}", lines[at].strip())
    assert len(set(heads)) == len(heads)
    rows: list[dict[str, str]] = []
    under = ""
    for line in lines[at + 1 : end]:
        cells = re.split(r"\s{2,}", line.strip())
        if len(cells) == len(heads) and not line.startswith("      "):
            rows.append(dict(zip(heads, cells, strict=True)))
        elif re.match(r" {6}\S", line):
            under = cells[0]
            rows[-1][under] = cells[1]
        else:
            rows[-1][under] += f" {line.strip()}"
    assert rows
    return rows


def labels(text: str) -> dict[str, str]:
    """Lines of a label and what it says, with what goes on below it."""
    joined = re.sub(r"\n {7,}(?=\S)", " ", text)
    pairs = [re.split(r"\s{2,}", line.strip(), maxsplit=1) for line in joined.splitlines()]
    return {pair[0]: pair[1] for pair in pairs if len(pair) == 2}


def number(text: str) -> float:
    """The first number of a text."""
    found = re.search(r"[-+−]?\d+(?:[.,]\d+)?", text)
    assert found, text
    return float(found[0].replace(",", ".").replace("−", "-"))


def numbers(text: str) -> list[float]:
    """All numbers of a text, signs apart."""
    return [float(each.replace(",", ".")) for each in re.findall(r"\d+(?:[.,]\d+)?", text)]


def degrees(text: str) -> float:
    """An angle as it is written, degrees and perhaps minutes."""
    minutes = re.search(r"(\d+)′", text)
    return number(text) + (int(minutes[1]) / 60 if minutes else 0.0)


KG_PER_LB = 0.45359237
KN_PER_TON = 2000 * KG_PER_LB * 9.80665 / 1000
"""The pound and the US ton of 2000 pounds, by agreement."""


def mass_kg(text: str) -> float:
    """A mass with its unit in kg."""
    return number(text) * (KG_PER_LB if text.strip().endswith("lb") else 1.0)


def force_kn(text: str) -> float:
    """A force, or one on a metre, in kN; where it is in ton or lbf, the kN beside it are the same force."""
    ton = re.match(r"([\d.]+) (ton/ft|ton|lbf) \(([\d.]+) kN", text.strip())
    if ton is None:
        return number(text)
    per = {"ton": KN_PER_TON, "lbf": KN_PER_TON / 2000, "ton/ft": KN_PER_TON / 0.3048}[ton[2]]
    # A tenth of a ton on a foot is 2.9 kN on a metre, a hundredth of a ton 0.09 kN.
    near = {"ton": 0.1, "lbf": 0.06, "ton/ft": 2.1}[ton[2]]
    assert abs(float(ton[1]) * per - float(ton[3])) < near, text
    return float(ton[3])


def near_kg(kg: float) -> float:
    """Half of the last figure of a mass: three places under 1, two under 10, else one; pounds are as fine."""
    return 0.0006 if kg < 0.45 else 0.006 if kg < 4.5 else 0.06


def printed_length_mm(text: str) -> float:
    """A length with its unit in mm."""
    return number(text) * (INCH_MM if text.strip().endswith("in") else 1.0)


def sheet_page(name: str, lang: str = "en", units: str = "mm") -> Path:
    """Where the sheet of an example lies as HTML. All examples are made at once, once in a run of tests.

    They are made in this process, which knows their plans, and kept by the command itself where another process of the
    same run has made them.
    """
    there = SHARED[-1] / f"html-{lang}-{units}"
    out_of("--units", units, "sheet", str(EXAMPLES), "-o", str(there), "--html", "--lang", lang, "--jobs", "1")
    return there / f"{name}.html"


@cache
def sheet_html(name: str, lang: str = "en", units: str = "mm") -> str:
    """The leaf in the sheet of an example as HTML."""
    return leaf_of(sheet_page(name, lang, units).read_text(encoding="utf-8"))


def leaf_of(page: str) -> str:
    """The leaf as it is printed: the page without what it shows on a screen."""
    leaf, cut = re.subn(r'<div class="tablet".*?</script>\n</div>\n', "", page, flags=re.DOTALL)
    assert cut == 1 and "t-page" not in leaf.split("</head>")[1]
    return leaf


def without_pictures(page: str) -> str:
    """A page without its pictures."""
    return re.sub(r"<svg.*?</svg>|<style.*?</style>", "", page, flags=re.DOTALL)


def said(page: str) -> str:
    """A page or piece of one as plain words."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", without_pictures(page)))).strip()


def cells(page: str) -> list[tuple[str, str]]:
    """Each label of a page with the value beside it, in order."""
    found = re.findall(r"<b>([^<]*)</b><span>([^<]*)</span>", without_pictures(page))
    return [(html.unescape(label), html.unescape(value)) for label, value in found]


def one_cell(page: str, label: str) -> str:
    """The one value under a label."""
    found = [value for told, value in cells(page) if told == label]
    assert len(found) == 1, (label, found)
    return found[0]


def step_pieces(page: str) -> list[str]:
    """The rows of the step table."""
    return re.findall(r'<article class="step">.*?</article>', page, re.DOTALL)


def rows_under(page: str, first: str) -> list[dict[str, str]]:
    """The rows of the HTML table whose first heading is given, by heading."""
    for table in re.findall(r"<table.*?</table>", without_pictures(page), re.DOTALL):
        heads = [said(each) for each in re.findall(r"<th[^>]*>(.*?)</th>", table, re.DOTALL)]
        if heads and heads[0] == first:
            body = re.findall(r"<tr>(.*?)</tr>", table.split("<tbody>")[1], re.DOTALL)
            rows = [[said(each) for each in re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)] for row in body]
            return [dict(zip(heads, row, strict=False)) for row in rows]
    raise AssertionError(f"no table of {first}")
