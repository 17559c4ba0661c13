"""Numbers and names of the command line, checked together: every fault is told at once, each in one line."""

import math
from collections.abc import Iterable, Mapping

from flangewise.faults import Fault, Unusable, name_fits
from flangewise.records import dataclass, field
from flangewise.shop import GaugeFamily
from flangewise.units import MM_PER_INCH, Gauge, read_length, trimmed

COMMAND_LINE = "command line"


@dataclass(frozen=True)
class Span:
    """The numbers an option takes: above or from `least`, up to `most`, and what that is said as."""

    least: float
    most: float
    said: str
    open_below: bool = False

    def holds(self, number: float) -> bool:
        """Whether the number lies inside."""
        return self.least < number <= self.most or (number == self.least and not self.open_below)


@dataclass
class OptionReader:
    """Reads options one after the other and keeps the faults; `done` raises them together."""

    units: str
    faults: list[Fault] = field(default_factory=list)

    def number(self, option: str, text: str | None, span: Span) -> float | None:
        """A plain number, None where the option was left out or is at fault."""
        if text is None:
            return None
        try:
            number = float(text.strip().replace("_", "?"))
        except ValueError:
            self.fault(option, f"{text!r} is no number", span.said)
            return None
        return self._within(option, text, number, span)

    def length_mm(self, option: str, text: str | None, span: Span) -> float | None:
        """A length in mm; a bare number is in the units of the command line. A gauge number is at fault here."""
        if text is None:
            return None
        try:
            length = read_length(text, self.units)
        except ValueError as error:
            self.fault(option, f"{text!r} is no length", str(error))
            return None
        if isinstance(length, Gauge):
            self.fault(option, f"{text!r} is a gauge number", "a gauge number is for --thickness only")
            return None
        said = text.strip() if self.units == "mm" else f"{text.strip()} ({trimmed(length, 2)} mm)"
        return self._within(option, said, length, span)

    def thickness_mm(
        self, option: str, text: str, span: Span, *, gauges: Mapping[str, GaugeFamily] | None, family: str | None
    ) -> float | None:
        """A thickness in mm; a gauge number is looked up in the family of the material."""
        gauge = gauge_of(text)
        if gauge is None:
            return self.length_mm(option, text, span)
        if gauges is None or family is None:
            return None
        try:
            return gauges[family].thickness_mm(gauge.number)
        except LookupError as error:
            self.fault(option, f"{text!r} is no gauge of this metal", str(error).strip("\"'"))
            return None

    def name(self, option: str, name: str | None, names: Iterable[str]) -> str | None:
        """A name that must exist among `names`; None where it was left out or does not."""
        known = tuple(names)
        if name is None or name in known:
            return name
        self.fault(option, f"there is no {name!r}", name_fits(name, known))
        return None

    def one_of(self, **given: object) -> None:
        """Of these options exactly one may be given."""
        names = _options(name for name, value in given.items() if value is not None)
        if len(names) != 1:
            wrong = f"{' and '.join(names)} are given together" if names else "none of them is given"
            self.fault(", ".join(_options(given)), wrong, "give exactly one of them")

    def not_both(self, fits: str, **given: object) -> None:
        """Two options that exclude each other."""
        if None not in given.values():
            self.fault(", ".join(_options(given)), "are given together", fits)

    def fault(self, where: str, wrong: str, fits: str) -> None:
        """Keep a fault."""
        self.faults.append(Fault(COMMAND_LINE, None, None, where, wrong, fits))

    def done(self) -> None:
        """Raises Unusable with all faults kept, where there are any."""
        if self.faults:
            raise Unusable(self.faults)

    def _within(self, option: str, text: str, number: float, span: Span) -> float | None:
        if math.isfinite(number) and span.holds(number):
            return number
        self.fault(option, f"{text.strip()} cannot be", span.said)
        return None


def _options(names: Iterable[str]) -> list[str]:
    return [f"--{name.replace('_', '-')}" for name in names]


def gauge_of(text: str) -> Gauge | None:
    """The gauge number a thickness is written as, None for a plain length."""
    try:
        length = read_length(text, "mm")
    except ValueError:
        return None
    return length if isinstance(length, Gauge) else None


def understood(text: str, length_mm: float, *, family: str | None = None) -> str:
    """How a thickness was understood, where it was not simply mm: `16ga of steel = 1.519 mm`."""
    if gauge_of(text) is not None:
        return f"{text.strip()} of {family} = {trimmed(length_mm, 3)} mm ({trimmed(length_mm / MM_PER_INCH, 4)} in)"
    return f"{trimmed(length_mm, 3)} mm"
