"""No output of any example says more than a computed number can: in commands, on sheets, in three languages.

The fixed notice is left out of what is looked at; it says who decides.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from flangewise.jobs import work_out
from flangewise.jobs.panel_plan import planned_panel
from flangewise.jobs.panel_sheet import printed_panel
from flangewise.jobs.printed import printed
from flangewise.part import read_part, read_parts
from flangewise.sheet import Identity, Printing, Wording
from flangewise.sheet.panel_leaf import panel_html
from flangewise.sheet.render import html_of
from flangewise.shop import load_shop
from flangewise.words import LANGUAGES, catalogue

from ..house.running import run
from ..how_many import WHOLE, one_in
from ..rooms.commands.cell_shop import RAIL, cell_shop

EXAMPLES = Path(__file__).parents[2] / "examples"
PARTS = sorted((EXAMPLES / "parts").glob("*.yaml"))
PANELS = sorted((EXAMPLES / "panels").glob("*.yaml"))
BARE = re.compile(r"\b(safe|compliant|approved|certified)\b", re.IGNORECASE)
IN = {
    "en": BARE,
    "de": re.compile(
        r"\b(sicher(e|er|es|en)?|konform\w*|zugelassen\w*|genehmigt\w*|zertifiziert\w*|freigegeben\w*)\b", re.IGNORECASE
    ),
    "es": re.compile(r"\b(segur[oa]s?|conformes?|aprobad[oa]s?|homologad[oa]s?|certificad[oa]s?)\b", re.IGNORECASE),
}
COMMANDS = (("plan",), ("plan", "--cell"), ("check",), ("flat",))


def said(text: str) -> str:
    """What stands in a text besides its marks, its style, and the notice in any language."""
    text = " ".join(re.sub(r"<style>.*?</style>|<script.*?</script>|<[^>]+>", " ", text, flags=re.S).split())
    for lang in LANGUAGES:
        text = text.replace(" ".join(catalogue(lang)["sheet.notice"].split()), "")
    return text


def by_robot_too(file: Path) -> str:
    """An example's text, with a robot at the machine."""
    text = re.sub(r"^handler:.*\n", "", file.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return text + "\nhandler: robot\n"


@pytest.mark.parametrize("fmt", ["text", "json"])
def test_no_command_gives_a_verdict_on_an_example(fmt: str, tmp_path: Path) -> None:
    shop, found = cell_shop(tmp_path / "shop"), []
    # Held by a robot too: what is told of a cell is told of these.
    by_robot, by_hand = tmp_path / "by-robot", tmp_path / "by-hand"
    for folder in (by_robot, by_hand):
        folder.mkdir()
    # Of what a person bends one half is told as text, the other in JSON.
    for file in PARTS[fmt == "json" and not WHOLE :: one_in(2)]:
        (by_hand / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    for file in PARTS[:: one_in(8)]:
        (by_robot / file.name).write_text(file.read_text(encoding="utf-8") + "\nhandler: robot\n", encoding="utf-8")
    # Text and JSON say the same by other ways: half of the commands in each, unless all is asked for.
    commands = COMMANDS if WHOLE else COMMANDS[:: 2 if fmt == "text" else -2]
    asked = [(command, ("--shop", str(shop)), by_hand) for command in commands]
    others = [(("plan", "--cell"), ("--shop", str(shop)), by_robot), (("flat",), (), EXAMPLES / "panels")]
    if WHOLE:
        for file in PANELS:
            (by_robot / file.name).write_text(by_robot_too(file), encoding="utf-8")
        shutil.copytree(EXAMPLES / "panels" / "drawings", by_robot / "drawings")
        others += [
            ((command,), (), where) for command in ("plan", "check") for where in (EXAMPLES / "panels", by_robot)
        ]
    asked += others if WHOLE else others[:: 2 if fmt == "text" else -2]
    for command, before, where in asked:
        status, out, err = run(*before, *command, str(where), "--format", fmt)
        assert status in (0, 1) and out, err
        found += [(command, *match) for text in (out, err) for match in BARE.findall(said(text))]
    assert found == []


@pytest.mark.parametrize("file", PARTS, ids=lambda file: file.stem)
def test_no_sheet_of_an_example_gives_a_verdict(file: Path) -> None:
    shop = load_shop()
    (read,) = read_parts([str(file)], shop)
    assert read.part is not None
    data = printed(work_out(read.part, shop))
    pages = {
        lang: said(html_of(data, Identity("a1b2c3d4e5f6", "0.1.0"), Printing(lang), record=None)) for lang in LANGUAGES
    }
    assert [
        (lang, found) for lang, text in pages.items() for found in IN[lang].findall(text) + BARE.findall(text)
    ] == []


@pytest.mark.parametrize("file", PANELS[:: one_in(12)], ids=lambda file: file.stem)
def test_no_sheet_of_a_panel_by_robot_gives_a_verdict(file: Path) -> None:
    shop = load_shop()
    (read,) = read_parts([str(file)], shop)
    assert read.panel is not None
    plan = planned_panel(replace(read.panel, handler="robot"), shop)
    if not plan.feasible:
        pytest.skip("refused on this machine by robot: it gets no sheet")
    identity, data = Identity("a1b2c3d4e5f6", "0.1.0"), printed_panel(plan, shop)
    for lang in LANGUAGES:
        page = panel_html(data, identity, Printing(lang), Wording(data.machine, lang), record=None)
        assert IN[lang].findall(said(page)) + BARE.findall(said(page)) == []


@pytest.mark.parametrize("lang", LANGUAGES)
def test_no_sheet_of_a_run_gives_a_verdict(lang: str, tmp_path: Path) -> None:
    shop = load_shop(cell_shop(tmp_path / "shop"))
    data = printed(work_out(read_part(RAIL, "rail.yaml", shop), shop))
    text = said(html_of(data, Identity("a1b2c3d4e5f6", "0.1.0"), Printing(lang), record=None))
    assert catalogue(lang)["cell.no-joints"] in text
    assert IN[lang].findall(text) + BARE.findall(text) == []


def test_a_verdict_would_be_found() -> None:
    assert BARE.findall(said("this is <b>safe</b>")) == ["safe"]
    assert [bool(IN[lang].search(text)) for lang, text in (("de", "ist sicher"), ("es", "es segura"))] == [True, True]
    assert said(f"<p>{catalogue('en')['sheet.notice']}</p>").strip() == ""


def test_no_catalogue_holds_a_verdict() -> None:
    texts = [(lang, code, text) for lang in LANGUAGES for code, text in catalogue(lang).items()]
    assert len(texts) > 2000
    assert [(lang, code) for lang, code, text in texts if IN[lang].search(text) or BARE.search(text)] == []
