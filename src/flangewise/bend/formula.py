"""A formula as it is told beside its number. Source: that of each formula, which stands beside its function."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Formula:
    """What is told of a number: its key, the formula, what goes in, who says so, and how the number is written.

    `inputs` and `value` name numbers in braces by their keys, units at the end; `value` is empty where the key will do.
    """

    key: str
    formula: str
    inputs: str
    source: str
    value: str = ""
