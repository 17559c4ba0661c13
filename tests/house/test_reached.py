"""Nothing public lies idle: a command reaches every definition, or it stands here with its reason."""

from __future__ import annotations

from .reach import definitions, reached, unreached

# What no command reaches, and why it stays: a whole module ("room.module") or one definition.
KEPT = {
    "bend.air_bend.bend_to_turn": "one bend beside the arrays of them: printed figures and benches are asked by it",
    "part.file.read_part": "a part from text: how a part is written without a file",
}


def _kept() -> set[str]:
    return {place for place in definitions() if any(place == name or place.startswith(name + ".") for name in KEPT)}


def test_a_command_reaches_every_public_definition() -> None:
    assert sorted(unreached() - _kept()) == [], "wire it, remove it, move it to the tests, or list it with its reason"


def test_the_list_holds_nothing_that_is_reached_or_gone() -> None:
    idle = unreached()
    stale = [name for name in KEPT if not any(place == name or place.startswith(name + ".") for place in idle)]
    assert stale == []


def test_the_walk_sees_what_it_should() -> None:
    """From a command through a front door, by a late import, to a method, a validator and a template's word."""
    found = reached()
    assert {
        "bend.allowance.bend_allowance",
        "bend.deflection.bed_deflection",
        "commands.bend_why.whys",
        "commands.shop.list_command",
        "jobs.job.Job.feasible",
        "shop.materials.Band._one_way",
    } <= found
    assert len(definitions()) > 1500
    assert "bend.air_bend.bend_to_turn" not in found
