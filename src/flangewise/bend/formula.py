"""A formula as it is told beside its number. Source: that of each formula, which stands beside its function."""

from flangewise.records import dataclass


@dataclass(frozen=True)
class Formula:
    """What is told of a number; `inputs` and `value` name numbers by keys in braces, no `value` being the key's own."""

    key: str
    formula: str
    inputs: str
    source: str
    value: str = ""
