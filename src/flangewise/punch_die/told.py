"""Findings whose sentence ends in what would do: made with that left empty, filled in once all pairs are judged."""

from __future__ import annotations

from dataclasses import replace

from flangewise.findings import Finding, caution, refuse
from flangewise.words import Phrase, Value, phrase

REMEDY = "remedy"


def refuse_for_now(code: str, where: Phrase | None, **values: Value) -> Finding:
    """A refusal with room for a remedy."""
    return refuse(code, where, remedy="", **values)


def caution_for_now(code: str, where: Phrase | None, **values: Value) -> Finding:
    """A caution with room for a remedy."""
    return caution(code, where, remedy="", **values)


def wants_remedy(finding: Finding) -> bool:
    """Whether the finding has room for a remedy."""
    return any(name == REMEDY for name, _ in finding.phrase.values)


def with_remedy(finding: Finding, remedy: Phrase | str) -> Finding:
    """The finding with its remedy filled in; an empty one leaves the sentence bare."""
    values = dict(finding.phrase.values) | {REMEDY: remedy}
    return replace(finding, phrase=phrase(finding.phrase.code, **values))
