"""The findings of a run at the terminal, kept short: what is refused or needs a look a line each, the rest counted.

A sentence that holds for many parts is told with the first and counted for the others; notes are counted. All of it is
told at the run's end in a line or two, and whole by `check`, in JSON and on the sheet.
"""

from collections import Counter

from flangewise.commands import Settings
from flangewise.words import phrase, say, word


class Brief:
    """What a run has told so far of its findings, in `lang`."""

    def __init__(self, settings: Settings, lang: str = "en") -> None:
        self._settings, self._lang = settings, lang
        self._told: dict[tuple[str, str], set[str]] = {}
        self._notes: Counter[str] = Counter()

    def tell(self, part: str, severity: str, told: str, *, mends: bool = False) -> None:
        """A finding of a part, as a place and a sentence; one that `mends` a refusal is told whatever it weighs."""
        if severity == "note" and not mends:
            self._notes[part] += 1
            return
        parts = self._told.setdefault((severity, told), set())
        if not parts:
            self._settings.say(f"{word(f'severity.{severity}', self._lang)}: {part}: {told}")
        parts.add(part)

    def end(self) -> None:
        """What was only counted."""
        for (severity, told), parts in self._told.items():
            if len(parts) > 1:
                also = say(phrase("word.also-of", count=len(parts) - 1, told=told), self._lang)
                self._settings.say(f"{word(f'severity.{severity}', self._lang)}: {also}")
        if self._notes:
            notes, parts_noted = self._notes.total(), len(self._notes)
            self._settings.say(say(phrase("word.notes-counted", notes=notes, parts=parts_noted), self._lang))
