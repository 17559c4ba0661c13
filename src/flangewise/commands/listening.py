"""What a part tells while another process works on it, kept to be told in its turn by the one that tells."""

from collections.abc import Callable, Iterable
from typing import Any

from flangewise.commands import Settings
from flangewise.commands.output import Printer, Record
from flangewise.findings import Finding, exit_status
from flangewise.records import dataclass, field


@dataclass(frozen=True)
class Given:
    """A result as a printer is given it, its text made."""

    record: Record
    text: str
    findings: tuple[Finding, ...]
    rows: list[Record] | None
    part: str


@dataclass(frozen=True)
class Heard:
    """All that was told of a part: results, lines for the person; and the exit status it comes to."""

    told: tuple[Given | str, ...]
    status: int

    def retold(self, printer: Printer) -> int:
        """Told by a printer; the higher of the status and what the printer makes of it."""
        status = self.status
        for each in self.told:
            if isinstance(each, str):
                printer.settings.say(each)
            else:
                given = (each.record, _saying(each.text), each.findings)
                status = max(status, printer.give(*given, rows=each.rows, part=each.part))
        return status


def _saying(text: str) -> Callable[[str], str]:
    return lambda units: text


@dataclass(frozen=True)
class _Listening(Settings):
    """Settings of a process nobody looks at: its lines are kept."""

    told: list[Given | str] = field(default_factory=list)

    @property
    def is_watched(self) -> bool:
        """Never: there is one terminal, and the process that tells has it."""
        return False

    def say(self, line: str) -> None:
        """Keep the line."""
        self.told.append(line)


class Listener(Printer):
    """Keeps what it is given in the place of telling it."""

    def give(
        self,
        record: Record,
        text: Callable[[str], str],
        findings: Iterable[Finding] = (),
        *,
        rows: Iterable[Record] | None = None,
        part: str = "",
    ) -> int:
        """Keep one result, with its text where that is what will be told."""
        assert isinstance(self.settings, _Listening)
        shown = "" if self.fmt in ("json", "csv") else text(self.settings.units)
        found = tuple(findings)
        self.settings.told.append(Given(record, shown, found, None if rows is None else list(rows), part))
        return exit_status(found)


def heard(printer: Printer, work: Callable[[Printer], int]) -> Heard:
    """Do the work with a listener in the place of the printer, and give what it heard."""
    options: dict[str, Any] = vars(printer.settings)
    settings = _Listening(**options)
    status = work(Listener(settings, printer.fmt, printer.columns))
    return Heard(tuple(settings.told), status)
