"""A thing the user must know about a part that could be read: refuse, caution or note."""

from collections.abc import Iterable
from typing import Literal

from flangewise.records import dataclass, replace
from flangewise.words import Phrase, Value, phrase, say

Severity = Literal["refuse", "caution", "note"]
_WEIGHT: dict[Severity, int] = {"refuse": 0, "caution": 1, "note": 2}


@dataclass(frozen=True)
class Finding:
    """One judgement: how grave, its code, where, its sentence; the last three where two bodies meet in a plan."""

    severity: Severity
    code: str
    where: Phrase | None
    phrase: Phrase
    step: int | None = None
    bodies: tuple[str, ...] = ()
    overlap_mm: float | None = None

    def at_step(self, step: int, *, bodies: tuple[str, ...] = (), overlap_mm: float | None = None) -> "Finding":
        """The same finding, told of one step of a plan and the bodies that meet there."""
        return replace(self, step=step, bodies=bodies, overlap_mm=overlap_mm)

    def text(self, lang: str = "en", units: str = "mm") -> str:
        """The sentence in a language, lengths in the given units."""
        return say(self.phrase, lang, units)

    def place(self, lang: str = "en") -> str:
        """Where it stands, in words; empty for the part as a whole."""
        return say(self.where, lang) if self.where is not None else ""


def _make(severity: Severity, code: str, where: Phrase | None, values: dict[str, Value]) -> Finding:
    return Finding(severity, code, where, phrase(f"finding.{code}", **values))


def refuse(code: str, where: Phrase | None = None, **values: Value) -> Finding:
    """The part cannot or must not be bent so. The sentence is the catalogue's `finding.<code>`."""
    return _make("refuse", code, where, values)


def caution(code: str, where: Phrase | None = None, **values: Value) -> Finding:
    """It can be bent, but the user must look."""
    return _make("caution", code, where, values)


def note(code: str, where: Phrase | None = None, **values: Value) -> Finding:
    """Worth knowing; nothing need be done."""
    return _make("note", code, where, values)


def place(kind: str, number: int | str) -> Phrase:
    """A place in the user's words: place("bend", 2) is "bend 2", place("leg", 1) is "leg 1"."""
    return phrase(f"place.{kind}", number=number)


def sorted_findings(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Gravest first, otherwise as they came, none twice."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: _WEIGHT[finding.severity]))


def refused(findings: Iterable[Finding]) -> bool:
    """Whether any finding refuses the part."""
    return any(finding.severity == "refuse" for finding in findings)


def exit_status(findings: Iterable[Finding]) -> int:
    """0 where all is well (cautions allowed), 1 where some part is refused."""
    return 1 if refused(findings) else 0
