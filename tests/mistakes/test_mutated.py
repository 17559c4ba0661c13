"""Part files spoilt at random: `check` answers every one of them with a status and plain lines, never a traceback."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from flangewise.commands import run

from ..how_many import one_in

PARTS = Path(__file__).parents[2] / "examples" / "parts"
# The quick ones: what is asked here is how a file is read, not how long an order takes to find.
EXAMPLES = [PARTS / f"{name}.yaml" for name in ("angle", "gauge-sheet", "holes-off-centre", "offset")]
# Files a run, and runs: 200 spoilt files in all, half of them with the suite.
FILES, RUNS = 20, 10 // one_in(4)

JUNK = st.sampled_from(
    [
        *("0", "-1", "1e9", "1e-9", "-.inf", ".inf", ".nan", "1e999", "0x10", "007", "1_000", "90", "-90", "45", "180"),
        *("true", "null", "~", "yes", '""', "''", "[]", "{}", "[[]]", "[90]", "{turn: 45}", "{hem: closed}", "- 1"),
        *(
            "2mm",
            "0.1in",
            "16ga",
            "99ga",
            "DC01",
            "dc01",
            "*a",
            "&a 1",
            "!!str 1",
            "!x y",
            "|",
            ">",
            "#",
            ":",
            "%",
            "@",
        ),
        *(
            "a: b: c",
            '"',
            "'",
            "{",
            "[",
            "\t",
            "ß",
            "\u202e",
            "日本",
            "../x",
            "/dev/null",
            "x" * 300,
            "${HOME}",
            "{{x}}",
        ),
        *(
            "{offset: 4}",
            "{offset: 0.2}",
            "{hem: open, gap: 2}",
            "{included: 135}",
            "{turn: 175, radius: 40}",
            "{turn: 90, gauge: {flange: 1}, face: up}",
            "[any, mid-740]",
            "1" * 25,
        ),
    ]
)
KEYS = (
    *("part", "material", "thickness", "units", "section", "length", "legs", "bends", "radius"),
    *("sizes", "holes", "machine", "handler", "grain", "good_face", "burr", "film", "tolerances"),
    *("order", "notes", "due", "quantity", "spares", "panel", "variants", "blank", "turn"),
    *("included", "away", "hem", "gap", "offset", "leg", "at", "diameter", "size", "gauge", "face", "flange"),
)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """An example with a few places spoilt."""
    text = draw(st.sampled_from(EXAMPLES)).read_text(encoding="utf-8")
    for _ in range(draw(st.integers(1, 3))):
        text = draw(st.sampled_from([value, line, key, signs, cut]))(draw, text)
    return text


def value(draw: st.DrawFn, text: str) -> str:
    """Some value, in a list or after a key, becomes another."""
    places = [found.span(1) for found in re.finditer(r"(?<=[ \[{,:])([\w.+-]+)(?=[ \]},\n])", text)]
    if not places:
        return text
    start, end = draw(st.sampled_from(places))
    return text[:start] + draw(JUNK) + text[end:]


def line(draw: st.DrawFn, text: str) -> str:
    """A line is left out, given twice, moved in, or followed by another."""
    lines = text.splitlines()
    if not lines:
        return text
    at = draw(st.integers(0, len(lines) - 1))
    changed = draw(
        st.sampled_from([[], [lines[at]] * 2, ["  " + lines[at]], [lines[at].lstrip()], [lines[at], draw(added())]])
    )
    return "\n".join([*lines[:at], *changed, *lines[at + 1 :]]) + "\n"


@st.composite
def added(draw: st.DrawFn) -> str:
    indent = draw(st.sampled_from(["", "  ", "    - "]))
    return f"{indent}{draw(st.sampled_from(KEYS))}: {draw(JUNK)}"


def key(draw: st.DrawFn, text: str) -> str:
    """A key gets another name."""
    places = [found.span(1) for found in re.finditer(r"(\w+):", text)]
    if not places:
        return text
    start, end = draw(st.sampled_from(places))
    return text[:start] + draw(st.sampled_from(KEYS) | st.text(max_size=5)) + text[end:]


def signs(draw: st.DrawFn, text: str) -> str:
    """A few signs are put in."""
    at = draw(st.integers(0, len(text)))
    return text[:at] + draw(st.text(max_size=4)) + text[at + draw(st.integers(0, 3)) :]


def cut(draw: st.DrawFn, text: str) -> str:
    """The file ends early."""
    return text[: draw(st.integers(0, len(text)))]


def renamed(text: str, index: int) -> str:
    """Its own name, so that no two files of a run share one; a name that was spoilt is left as it is."""
    return re.sub(r"(?m)^part: [a-z0-9-]+$", f"part: p{index}", text, count=1)


@settings(max_examples=RUNS, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.lists(spoilt(), min_size=FILES, max_size=FILES))
def test_no_spoilt_file_brings_a_traceback(tmp_path_factory: pytest.TempPathFactory, texts: list[str]) -> None:
    folder = tmp_path_factory.mktemp("spoilt")
    for index, text in enumerate(texts):
        (folder / f"{index:02}.yaml").write_bytes(renamed(text, index).encode("utf-8", "surrogatepass"))
    status, out, err = captured(["check", str(folder), "--format", "json"])
    assert status in (0, 1, 2)
    assert "Traceback" not in err and "fault of the program" not in err
    # Every line is a fault of one of the files, and every result a part.
    assert all(told.startswith(str(folder)) for told in err.splitlines()), err
    assert all(told.startswith('{"schema_version": 1, "part": "') for told in out.splitlines())


def captured(args: list[str]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(args)
    return status, out.getvalue(), err.getvalue()
