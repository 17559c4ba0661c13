"""The data of a part file as its checkers take them."""

from typing import Any


def without_empty(value: Any) -> Any:
    """The data without keys that hold nothing: an empty `title:` is a title not given."""
    if isinstance(value, dict):
        return {key: without_empty(each) for key, each in value.items() if each is not None}
    if isinstance(value, list):
        return [without_empty(each) for each in value]
    return value
