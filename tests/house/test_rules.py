"""A rule of the allowance stands once: added to its table alone, every place that names rules knows it."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from flangewise.bend import RULES

from .source_tree import PACKAGE, REPOSITORY

# A rule as the guide says it is added: a function, and one row of the table.
FUNCTION = '''
def middle_mm_per_deg(radius_mm: float, thickness_mm: float) -> float:
    """The middle of the sheet keeps its length. Source: invented for a test."""
    return math.radians(radius_mm + thickness_mm / 2)


RULES: '''
ROW = """MappingProxyType(
    {
        "middle": AllowanceRule(middle_mm_per_deg, "a test", "pi/180 turn (r + s/2)", "a test, that invents it"),
"""
SHEET = ("--material", "DC01", "--thickness", "2", "--turn", "90", "--radius", "3")
# 90 degrees at radius 3 to the middle of 2 mm sheet: a quarter of a circle of radius 4.
ALLOWANCE_MM = 6.283185


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the package with the rule added, and a shop that has it for its default."""
    folder = tmp_path_factory.mktemp("house")
    package = folder / "flangewise"
    shutil.copytree(PACKAGE, package, ignore=shutil.ignore_patterns("__pycache__"))
    file = package / "bend" / "allowance.py"
    text = file.read_text(encoding="utf-8")
    assert text.count("\nRULES: ") == 1 and text.count("MappingProxyType(\n    {\n") == 1
    text = text.replace("\nRULES: ", FUNCTION).replace("MappingProxyType(\n    {\n", ROW)
    file.write_text(text, encoding="utf-8")
    shutil.copytree(package / "shop" / "tables", folder / "shop")
    own = folder / "shop" / "shop.yaml"
    own.write_text(re.sub(r"(?m)^rule: .*$", "rule: middle", own.read_text(encoding="utf-8")), encoding="utf-8")
    return folder


def _run(house: Path, *arguments: str) -> str:
    command = [sys.executable, "-m", "flangewise", *arguments]
    world = {**os.environ, "PYTHONPATH": str(house), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(command, env=world, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_rule_added_is_counted_with_and_told_with_its_source(house: Path) -> None:
    record = json.loads(_run(house, "bend", *SHEET, "--rule", "middle", "--why", "--format", "json"))
    assert (record["allowance_from"], record["allowance_mm"]) == ("middle", pytest.approx(ALLOWANCE_MM, abs=1e-6))
    (why,) = [each for each in record["why"] if each["key"] == "allowance_mm"]
    assert (why["formula"], why["source"]) == ("pi/180 turn (r + s/2)", "a test, that invents it")


def test_a_shop_may_have_it_for_its_rule(house: Path) -> None:
    record = json.loads(_run(house, "--shop", str(house / "shop"), "bend", *SHEET, "--format", "json"))
    assert (record["allowance_from"], record["allowance_mm"]) == ("middle", pytest.approx(ALLOWANCE_MM, abs=1e-6))


def test_help_and_schema_name_it(house: Path) -> None:
    assert "middle (a test; a test)" in " ".join(_run(house, "bend", "--help").split())
    assert json.loads(_run(house, "schema", "shop"))["properties"]["rule"]["enum"] == ["middle", *RULES]


def test_the_readme_names_the_rules_there_are() -> None:
    readme = (REPOSITORY / "README.md").read_text(encoding="utf-8")
    (listed,) = re.findall(r"`--rule` \(([^)]*)\)", readme)
    assert re.findall(r"`([^`]*)`", listed) == list(RULES)
