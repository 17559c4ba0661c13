"""The page for a tablet in a real browser: every step by keys, the stroke by the slider, readings out and read back."""

from __future__ import annotations

import contextlib
import io
import json
import shlex
import time
import unicodedata
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pytest
import yaml

from flangewise import commands
from flangewise.words import LANGUAGES, catalogue

from .browser import Browser, installed
from .read_back import EXAMPLES, plans, sheet_page

PARTS = {path.name: yaml.safe_load(path.read_text())["part"] for path in sorted(EXAMPLES.glob("*.yaml"))}
"""The examples' files, and the part in each."""
INCH = "gauge-sheet.yaml"
# So often a page is opened again for what was typed.
OPENED_AGAIN = 10
# What is typed: so far off the nominal value that nothing is taken for a slip, and with a decimal comma.
OFF_DEG, OFF_MM = 0.7, 0.1
REFUSING = "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('refused'); }});"
VISIBLE = "document.querySelector('.t-page:not([hidden])')"
# Whether the page is broader than the screen, which words do not fit their place, and how high the lowest button is.
MEASURED = f"""(page => [
  page.scrollWidth > page.clientWidth,
  [...page.querySelectorAll("dd, button")].filter(each => each.scrollWidth > each.clientWidth)
    .map(each => each.innerText),
  Math.min(...[...document.querySelectorAll(".tablet button, .t-read input")].map(each => each.offsetHeight || 999)),
])({VISIBLE})"""
# The part's path as it is shown, and where the ram is moved to; and both with the slider drawn on to its end.
MOMENT = f"['.t-part', '.t-ram'].map((each, at) => {VISIBLE}.querySelector(each).getAttribute(['d', 'transform'][at]))"
SLID = f"""(slider => {{
  const seen = [];
  for (let value = Number(slider.value) + 1; value <= Number(slider.max); value += 1) {{
    slider.value = value;
    slider.dispatchEvent(new Event("input", {{bubbles: true}}));
    seen.push({MOMENT});
  }}
  return seen;
}})({VISIBLE}.querySelector("input[type=range]"))"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = installed()
    if program is None:
        pytest.skip("no browser is installed: apt-get install chromium")
    with Browser(program) as started:
        yield started


def run(*arguments: object) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = commands.run([str(each) for each in arguments])
    return status, out.getvalue(), err.getvalue()


def record(*arguments: object) -> dict[str, Any]:
    status, out, err = run(*arguments, "--format", "json")
    assert status == 0, err
    told: dict[str, Any] = json.loads(out)
    return told


def page_of(file: str) -> Path:
    """The page of an example."""
    return sheet_page(PARTS[file])


def one_page(file: str, folder: Path, *before: str, lang: str = "en") -> Path:
    """The page of one example in another language or other units."""
    return Path(record(*before, "sheet", EXAMPLES / file, "-o", folder, "--html", "--lang", lang)["sheet"])


def steps_of(file: str) -> list[dict[str, Any]]:
    """The steps of an example's plan."""
    steps: list[dict[str, Any]] = plans()[PARTS[file]]["steps"]
    assert steps
    return steps


@pytest.mark.parametrize("file", PARTS)
def test_every_step_is_reached_by_keys_and_its_stroke_moves(browser: Browser, file: str) -> None:
    page, steps = page_of(file), steps_of(file)
    browser.open(page)
    reached = []
    for step in steps:
        browser.press("ArrowRight")
        reached.append(browser.asks(f"{VISIBLE}.dataset.step"))
        first = browser.asks(MOMENT)
        browser.press("ArrowDown")
        seen = [first, browser.asks(MOMENT), *browser.asks(SLID)]
        parts, moved = zip(*seen, strict=True)
        lifts = [-float(each.removeprefix("translate(0 ").removesuffix(")")) for each in moved]
        # The ram comes down alone, five moments long; then the part moves at every moment to the last.
        assert len(seen) >= 25 and len(set(parts)) == len(parts) - 5
        assert lifts == sorted(lifts, reverse=True) and len(set(lifts)) == len(lifts)
        assert lifts[-1] == 0.0
        assert lifts[0] == pytest.approx(step["open_height_mm"] + step["depth_mm"], abs=0.02)
        browser.press("ArrowUp")
        assert browser.asks(MOMENT) == seen[-2]
    assert reached == [str(step["step"]) for step in steps]
    browser.press("ArrowRight", 2)
    assert browser.asks(f"{VISIBLE}.querySelector('.t-json') !== null"), "the readings come last"
    browser.press("ArrowLeft", len(steps) + 2)
    assert browser.asks(f"{VISIBLE}.dataset.page") == "0"
    assert (browser.troubles, browser.asked) == ([], [page.as_uri()])


@cache
def wanted_of(file: str) -> dict[str, Any]:
    """What the bends and legs of an example should be."""
    return record("tryout", EXAMPLES / file, "--leg", "1=10mm")


def typed_readings(browser: Browser, file: str, *, per_mm: float = 1.0) -> tuple[dict[int, float], dict[int, float]]:
    """Type every angle and leg into the box of its own step, a little off; what was typed, in degrees and mm."""
    wanted = wanted_of(file)
    angled = {bend for step in steps_of(file) if step["hit"] == "bend" for bend in step["bends"]}
    angles = {
        bend["bend"]: round(bend["wanted_included_deg"] + OFF_DEG, 2)
        for bend in wanted["bends"]
        if bend["bend"] in angled
    }
    legs = {leg["leg"]: round(leg["wanted_mm"] + OFF_MM, 2) for leg in wanted["legs"]}
    for key, numbers in (("included_deg", angles), ("legs_mm", legs)):
        for number, value in numbers.items():
            text = f"{value * (per_mm if key == 'legs_mm' else 1.0):.4f}".replace(".", ",")
            browser.type_into(f".t-page[data-step] [data-name='{key}-{number}']", text)
    return angles, legs


def shown_in(browser: Browser, box: str) -> str:
    text: str = browser.asks(f"document.querySelector('{box}').value")
    return text


@pytest.mark.parametrize("file", PARTS)
def test_readings_come_out_as_a_command_line_and_as_a_file(browser: Browser, file: str, tmp_path: Path) -> None:
    check_readings(browser, page_of(file), file, tmp_path)


def test_readings_in_inch_come_out_the_same(browser: Browser, tmp_path: Path) -> None:
    page = one_page(INCH, tmp_path / "inch", "--units", "inch")
    check_readings(browser, page, INCH, tmp_path, per_mm=1 / 25.4)


def check_readings(browser: Browser, page: Path, file: str, folder: Path, *, per_mm: float = 1.0) -> None:
    browser.open(page)
    browser.asks("localStorage.clear()")
    browser.open(page)
    assert shown_in(browser, ".t-json") == "", "nothing is measured yet"
    browser.press("End")
    browser.type_into("[data-name=lot]", "Coil 7 'b'")
    browser.type_into("[data-name=file]", str(EXAMPLES / file))
    show_steps(browser)
    angles, legs = typed_readings(browser, file, per_mm=per_mm)
    line, stored = shlex.split(shown_in(browser, ".t-command")), shown_in(browser, ".t-json")
    assert line[:3] == ["flangewise", "tryout", str(EXAMPLES / file)]
    (folder / "readings.json").write_text(stored, encoding="utf-8")
    for answer in (record(*line[1:]), record("tryout", EXAMPLES / file, "--from", folder / "readings.json")):
        assert (answer["lot"], answer["piece"]) == ("Coil 7 'b'", 1)
        measured = {bend["bend"]: bend["measured_included_deg"] for bend in answer["bends"]}
        assert {bend: angle for bend, angle in measured.items() if angle is not None} == pytest.approx(angles)
        # Four places of an inch are 0.0025 mm.
        assert {leg["leg"]: leg["measured_mm"] for leg in answer["legs"]} == pytest.approx(legs, abs=0.0014)
    assert shown_again(browser, page, ".t-json") == stored, "what was typed is still there"
    assert browser.troubles == []


def shown_again(browser: Browser, page: Path, selector: str) -> str:
    """What is shown once the page is opened again: on a busy machine a browser may be late to store what was typed."""
    for _ in range(OPENED_AGAIN):
        browser.open(page)
        if found := shown_in(browser, selector):
            return found
        time.sleep(0.2)
    return ""


def show_steps(browser: Browser) -> None:
    """All pages at once, as a box that does not show takes no caret."""
    browser.asks("document.querySelectorAll('.t-page').forEach(page => { page.hidden = false; })")


@pytest.fixture
def zed(browser: Browser) -> Path:
    """The page of the Z, nothing typed in."""
    page = page_of("zed.yaml")
    browser.open(page)
    browser.asks("localStorage.clear()")
    browser.open(page)
    return page


def test_a_slip_is_told_and_left_out(browser: Browser, zed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    show_steps(browser)
    browser.type_into("[data-name='included_deg-1']", "91.5")
    browser.type_into("[data-name='included_deg-2']", "9O")
    line = shown_in(browser, ".t-command")
    assert line == "flangewise tryout zed.yaml --included 1=91.5 --piece 1"
    # It is run where the part file lies.
    monkeypatch.chdir(EXAMPLES)
    assert record(*line.split()[1:])["bends"][0]["measured_included_deg"] == 91.5
    beside = browser.asks("[...document.querySelectorAll('.t-read')].map(each => each.innerText)")
    assert any(catalogue("en")["sheet.tablet.not-read"] in text for text in beside)
    assert any("off by +1.5" in text for text in beside)


def test_what_was_really_set_and_cut_goes_with_the_readings(browser: Browser, zed: Path, tmp_path: Path) -> None:
    show_steps(browser)
    typed = {"included_deg-1": "91", "depths_mm-1": "3.85", "stops_mm-2": "23.2", "developed_mm": "102.4"}
    for name, text in {**typed, "measured_thickness_mm": "1.97", "piece": "3"}.items():
        browser.type_into(f"[data-name={name}]", text)
    browser.type_into("[data-name=file]", str(EXAMPLES / "zed.yaml"))
    (tmp_path / "readings.json").write_text(shown_in(browser, ".t-json"))
    line = shlex.split(shown_in(browser, ".t-command"))
    for told in (record(*line[1:]), record("tryout", EXAMPLES / "zed.yaml", "--from", tmp_path / "readings.json")):
        assert (told["bends"][0]["depth_mm"], told["bends"][1]["stop_mm"]) == (3.85, 23.2)
        assert (told["blank"]["developed_mm"], told["blank"]["measured"]) == (102.4, True)
        assert (told["measured_thickness_mm"], told["piece"]) == (1.97, 3)


def test_the_file_is_saved_and_the_next_piece_begun(browser: Browser, zed: Path, tmp_path: Path) -> None:
    browser.call("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(tmp_path), eventsEnabled=True)
    show_steps(browser)
    browser.type_into("[data-name='legs_mm-2']", "60.2")
    browser.type_into("[data-name=lot]", "A1")
    browser.asks("document.querySelector('.t-save').click()")
    browser.wait_for("Browser.downloadProgress", state="completed")
    told = record("tryout", EXAMPLES / "zed.yaml", "--from", tmp_path / "rain-gauge-foot.readings.json")
    assert told["legs"][1]["measured_mm"] == 60.2
    for _ in range(2):
        browser.asks("document.querySelector('.t-clear').click()")
    kept = json.loads(browser.asks("Object.values(localStorage)[0]"))
    assert (kept["piece"], kept["lot"], kept["legs_mm-2"]) == ("2", "A1", "")


def test_what_is_kept_belongs_to_the_job_and_the_plan(browser: Browser) -> None:
    page = page_of("gutter.yaml")
    browser.open(page)
    browser.asks("localStorage.clear()")
    browser.open(page)
    (name,) = browser.asks("Object.keys(localStorage)")
    *_, plan = browser.asks("document.querySelector('meta[name=keywords]').content").split(" | ")
    assert name == f"flangewise|2241|{plan}"


def test_a_browser_that_keeps_nothing_says_so_and_works(browser: Browser, zed: Path) -> None:
    script = browser.call("Page.addScriptToEvaluateOnNewDocument", source=REFUSING)["identifier"]
    try:
        browser.open(zed)
        said = browser.asks("document.querySelector('.t-told').textContent")
        show_steps(browser)
        browser.type_into("[data-name='included_deg-1']", "91.2")
        line = shown_in(browser, ".t-command")
    finally:
        browser.call("Page.removeScriptToEvaluateOnNewDocument", identifier=script)
    assert said == catalogue("en")["sheet.tablet.not-kept"]
    assert line == "flangewise tryout zed.yaml --included 1=91.2 --piece 1" and browser.troubles == []


LEAF = [
    *(catalogue("en")[f"sheet.section.{name}"] for name in ("steps", "first-piece", "run")),
    "90° toward the marked face",
]
NEXT = catalogue("en")["sheet.tablet.next"]


def test_it_prints_as_the_leaf(browser: Browser, zed: Path) -> None:
    browser.open(zed)
    pages = pypdf.PdfReader(io.BytesIO(browser.printed())).pages
    # Letters that the browser sets as one sign are letters again.
    text = " ".join(unicodedata.normalize("NFKC", " ".join(page.extract_text() for page in pages)).split())
    assert [words for words in LEAF if words not in text] == []
    assert NEXT in browser.seen_text() and NEXT not in text


def test_without_scripts_the_leaf_is_the_document(browser: Browser, zed: Path) -> None:
    browser.call("Emulation.setScriptExecutionDisabled", value=True)
    try:
        browser.open(zed)
        text = " ".join(browser.seen_text().split())
    finally:
        browser.call("Emulation.setScriptExecutionDisabled", value=False)
    assert [words for words in LEAF if words not in text] == []
    assert NEXT not in text


@pytest.mark.parametrize("lang", LANGUAGES)
def test_nothing_is_broader_than_the_screen_or_smaller_than_a_glove(
    browser: Browser, tmp_path: Path, lang: str
) -> None:
    page = page_of("hat.yaml") if lang == "en" else one_page("zed.yaml", tmp_path, lang=lang)
    for wide, high in ((768, 1024), (1024, 768)):
        browser.size(wide, high)
        browser.open(page)
        pages = browser.asks("document.querySelectorAll('.t-page').length")
        assert pages >= 4
        for number in range(pages):
            broad, clipped, low = browser.asks(MEASURED)
            assert browser.asks(f"{VISIBLE}.dataset.page") == str(number)
            assert not broad and clipped == [], (wide, number)
            assert low >= 56, (wide, number)
            browser.press("ArrowRight")
