"""The import law: who may import whom, by which door, and which library has its home where."""

from __future__ import annotations

import ast
import sys

import pytest

from .source_tree import Module, imports, inner, modules

# A room imports only from rooms before it in this list.
LAW = [
    "late",
    "records",
    "units",
    "faults",
    "reading",
    "writing",
    "words",
    "findings",
    "geometry",
    "bend",
    "shop",
    "drawing",
    "drawn",
    "part",
    "pattern",
    "clearance",
    "punch_die",
    "sequence",
    "panel_order",
    "setup",
    "handling",
    "queue",
    "sheet",
    "replay",
    "tryout",
    "jobs",
    "commands",
]
PLACE = {room: place for place, room in enumerate(LAW)}

# The package itself gives only its version; `__main__` starts the commands.
OUTSIDE_THE_LAW = {"": set(), "__main__": {"commands"}}

# These take plain numbers: nothing of a part or a shop, so that a printed table can check them.
PLAIN_NUMBERS = {"geometry": set(), "bend": set()}

# The second simulator is worth something only while it shares nothing with what it judges.
APART = {"replay": {"clearance", "punch_die", "sequence", "panel_order", "setup", "handling"}}

# An outside library, and the only rooms that may import it.
HOMES = {
    "click": {"commands"},
    "yaml": {"reading"},
    "pydantic": {"shop", "part", "tryout"},
    "pydantic_core": {"shop", "part"},
    "annotated_types": {"shop", "part"},
    "ezdxf": {"pattern", "part", "drawn"},
    "shapely": {"clearance", "replay", "pattern", "drawn", "handling"},
    "jinja2": {"sheet"},
    "markupsafe": {"sheet"},
    "weasyprint": {"sheet"},
    "pydyf": {"sheet"},
    "segno": {"sheet"},
    "distributed": {"jobs"},
    "numpy": {"geometry", "pattern", "bend", "sequence", "panel_order", "clearance", "replay", "drawing", "handling"},
}

# Modules entered beside the front door, so that a command which does without them does not load them.
SIDE_DOORS = {
    ("commands.plan", "jobs.printed"),
    ("commands.crews", "jobs.cluster"),
    ("commands.crews", "jobs.crew"),
    ("commands.paths", "jobs.crew"),
    ("commands.sheet", "jobs.crew"),
    ("commands.sheet", "jobs.families"),
    ("commands.sheet", "jobs.sheets"),
    ("commands.sheet_panel", "jobs.sheets"),
}

# Imports inside a function, each for the time it takes to start: (module, function, what).
LATE = {
    ("commands", "resolve_command", "flangewise.faults"),
    ("commands", "_folded", "shutil"),
    ("commands", "_folded", "textwrap"),
    ("commands.bend", "command", "flangewise.commands.bend_plot"),
    ("commands.crews", "hired", "flangewise.jobs.cluster"),
    ("commands.crews", "hired", "flangewise.jobs.crew"),
    ("commands.paths", "spread", "flangewise.commands.listening"),
    ("commands.paths", "spread", "flangewise.jobs.crew"),
    ("jobs.cluster", "cluster", "distributed"),
    ("jobs.cluster", "finished", "distributed"),
    ("commands.flat", "draw", "flangewise.commands.flat_svg"),
    ("commands.flat", "panel", "flangewise.commands.flat_panel"),
    ("commands.flat", "printer", "flangewise.commands.flat_panel"),
    ("commands.plan", "_one", "flangewise.jobs.printed"),
    ("commands.plan", "command", "flangewise.commands.plan_keys"),
    ("commands.plan", "command", "flangewise.commands.plan_since"),
    ("commands.plan", "_one", "flangewise.commands.plan_cell"),
    ("commands.plan", "command", "flangewise.commands.plan_cell"),
    ("jobs.printed", "printed", "flangewise.jobs.cell"),
    ("sheet.render", "html_of", "flangewise.sheet.run_page"),
    ("sheet.panel_leaf", "panel_html", "flangewise.sheet.run_page"),
    ("commands.plan_panel", "give_panel_plan", "flangewise.commands.plan_panel_draw"),
    ("commands.plan", "_panel", "flangewise.commands.plan_cell"),
    ("commands.plan", "_panel", "flangewise.commands.plan_panel"),
    ("commands.plan", "_panel", "flangewise.jobs"),
    ("commands.sheet", "__call__", "flangewise.commands.sheet_panel"),
    ("jobs.queue", "_panel_needs", "flangewise.jobs.panel_problem"),
    ("jobs.queue", "_panel_needs", "flangewise.setup"),
    ("jobs.queue", "_waiting_panel", "flangewise.jobs.panel_plan"),
    ("drawn.read", "read_drawing", "flangewise.drawn.sheet"),
    ("part.file", "part_of", "flangewise.part.read_blank"),
    ("part.file", "part_of", "flangewise.part.read_panel"),
    ("part.schema", "blank_checker", "flangewise.part.panel_part"),
    ("part.schema", "panel_checker", "flangewise.part.panel_part"),
    ("pattern.dxf", "_library", "ezdxf"),
    ("punch_die.lengths", "_cover", "flangewise.punch_die.stations"),
    ("sheet.render", "_leave_record", "pydyf"),
    ("sheet.render", "load_pdf_maker", "weasyprint"),
}


def _of_the_law() -> list[Module]:
    return [module for module in modules() if module.room not in OUTSIDE_THE_LAW]


def test_the_law_names_the_rooms_there_are() -> None:
    assert sorted({module.room for module in _of_the_law()}) == sorted(LAW)


def test_a_room_imports_only_from_rooms_before_it() -> None:
    wrong = [
        f"{module.path}:{line}: {module.room} may not import {name}"
        for module, name, line in _between_rooms()
        if PLACE[name.split(".")[0]] >= PLACE[module.room]
    ]
    assert wrong == []


def test_another_room_is_entered_by_its_front_door() -> None:
    wrong = [
        f"{module.path}:{line}: import from flangewise.{name.split('.')[0]}"
        for module, name, line in _between_rooms()
        if "." in name and (module.name, name) not in SIDE_DOORS
    ]
    assert wrong == []


def _between_rooms() -> list[tuple[Module, str, int]]:
    """Every import of one room by another: by which module, what, and where it stands."""
    found = [
        (module, name, each.line)
        for module in _of_the_law()
        for each in imports(module)
        if (name := inner(each.module)) and name.split(".")[0] != module.room
    ]
    assert len(found) > 200, "the scan finds the imports"
    return found


@pytest.mark.parametrize("room", APART)
def test_a_room_that_judges_others_knows_nothing_of_them(room: str) -> None:
    judging = [module for module in modules() if module.room == room]
    assert judging and set(LAW) >= APART[room]
    for module in judging:
        known = {(inner(each.module) or "").split(".")[0] for each in imports(module)}
        assert known & APART[room] == set(), module.path


@pytest.mark.parametrize("room", PLAIN_NUMBERS)
def test_a_room_of_plain_numbers_knows_no_other_room(room: str) -> None:
    looked_at = list(modules())
    assert looked_at
    for module in looked_at:
        if module.room == room:
            others = {(inner(each.module) or room).split(".")[0] for each in imports(module)}
            assert others <= {room, "late", "records", "units"}, f"{module.path} imports {others}"


def test_modules_import_each_other_one_way() -> None:
    arrows = {module.name: _modules_imported(module) for module in modules()}
    assert len(arrows) > 60
    while leaves := [name for name, needed in arrows.items() if not needed & arrows.keys()]:
        for name in leaves:
            del arrows[name]
    assert arrows == {}, "these import each other in a circle"


def _modules_imported(module: Module) -> set[str]:
    """What it imports within its room, the front door among them; between rooms the law sees to it."""
    names = {inner(each.module) for each in imports(module) if not each.typing_only}
    return {name for name in names if name is not None and name.split(".")[0] == module.room} - {module.name}


def test_an_outside_library_is_imported_only_at_home() -> None:
    outside = [
        (module, each)
        for module in modules()
        for each in imports(module)
        if each.top != "flangewise" and each.top not in sys.stdlib_module_names
    ]
    assert len(outside) > 50
    strays = [f"{m.path}:{each.line}: {each.top}" for m, each in outside if m.room not in HOMES.get(each.top, set())]
    assert strays == []


def test_every_library_named_is_used() -> None:
    used = {each.top for module in modules() for each in imports(module)}
    assert set(HOMES) - used <= {"pydantic_core", "annotated_types"}


def test_an_import_inside_a_function_is_on_the_list() -> None:
    found = {
        (module.name, each.inside, each.module)
        for module in modules()
        for each in imports(module)
        if each.inside is not None and not each.typing_only
    }
    assert found == LATE


def test_a_record_is_made_by_the_house() -> None:
    """The library's own decorator compiles each class's methods whether or not a command uses them."""
    found = {
        module.name
        for module in modules()
        for node in ast.walk(module.tree)
        if (isinstance(node, ast.ImportFrom) and node.module == "dataclasses" and "dataclass" in _names(node))
        or (isinstance(node, ast.Attribute) and ast.unparse(node) == "dataclasses.dataclass")
    }
    assert found == {"records"}


def _names(node: ast.ImportFrom) -> set[str]:
    return {alias.name for alias in node.names}


def test_the_package_itself_imports_no_room() -> None:
    looked_at = list(modules())
    assert looked_at
    for module in looked_at:
        if module.room in OUTSIDE_THE_LAW:
            rooms = {(inner(each.module) or "").split(".")[0] for each in imports(module)} - {""}
            assert rooms == OUTSIDE_THE_LAW[module.room], module.path
