"""A panel's page for a tablet in a real browser: readings typed in come out as a line and a file that tryout takes."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest

from .browser import Browser, installed
from .test_tablet_in_a_browser import record, run, show_steps

PAN = Path(__file__).parents[2] / "examples" / "panels" / "collector-pan.yaml"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(record("sheet", PAN, "-o", tmp_path_factory.mktemp("pages"), "--html")["sheet"])


def test_without_scripts_the_page_is_the_printed_leaf(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert '<div class="tablet" hidden' in text
    assert len(re.findall(r'<article class="step">', text)) == 4
    assert not re.search(r'(?:src|href)="(?!data:)', text)


def test_readings_typed_in_are_what_tryout_takes(page: Path, tmp_path: Path) -> None:
    program = installed()
    if program is None:
        pytest.skip("no browser is installed: apt-get install chromium")
    with Browser(program) as browser:
        browser.open(page)
        seen = []
        for _ in range(4):
            browser.press("ArrowRight")
            seen.append(browser.asks("document.querySelector('.t-page:not([hidden])').dataset.step"))
        show_steps(browser)
        browser.type_into(".t-page[data-step] [data-name='included_deg-2']", "91,2")
        browser.type_into(".t-page[data-step] [data-name='legs_mm-1']", "200,4")
        line = browser.asks("document.querySelector('.t-command').value")
        told = browser.asks("document.querySelector('.t-json').value")
        assert (browser.troubles, browser.asked) == ([], [page.as_uri()])
    assert seen == ["1", "2", "3", "4"]
    words = shlex.split(line)
    assert words[:3] == ["flangewise", "tryout", PAN.name] and "near/far=200.4mm" in words
    by_line = run("tryout", PAN, *words[3:], "--format", "json")
    file = tmp_path / "readings.json"
    file.write_text(told, encoding="utf-8")
    by_file = run("tryout", PAN, "--from", file, "--format", "json")
    assert by_line[0] == by_file[0] == 0
    one, other = json.loads(by_line[1]), json.loads(by_file[1])
    assert one == other
    # Sizes are numbered as tryout has them: the first is the base from near to far, asked for at 200.
    assert one["legs"][0]["face"] == "near/far"
    assert one["legs"][0]["wanted_mm"] == pytest.approx(200.0)
    assert one["legs"][0]["measured_mm"] == pytest.approx(200.4)
    (bend,) = (each for each in one["bends"] if each["bend"] == 2)
    assert bend["measured_included_deg"] == pytest.approx(91.2)


def test_a_tilt_stands_before_its_step_and_a_size_without_bends_is_read_with_the_first(tmp_path: Path) -> None:
    """The flange lies on the die for its tip; the base ends free from near to far, so that no bend makes that size."""
    file = tmp_path / "baffle.yaml"
    file.write_text(
        "part: baffle\nmaterial: DC01\nthickness: 1\norder: [1, 2]\npanel:\n  base: [40, 160]\n  flanges:\n"
        "    right: {height: 60, bend: {turn: 60}, tip: {height: 25, bend: {turn: 45, away: true}}}\n"
    )
    text = Path(record("sheet", file, "-o", tmp_path, "--html")["sheet"]).read_text(encoding="utf-8")
    tilts = re.findall(r"TILT front down 60°, another face on the die", text)
    # On the printed leaf and on the tablet's page.
    assert len(tilts) == 2
    steps = re.split(r"data-step=", text)[1:]
    assert ["near/far" in step for step in steps[:1]] == [True]
