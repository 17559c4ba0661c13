"""The data of a part file as its checkers take them, and the files it names."""

from pathlib import Path
from typing import Any


def without_empty(value: Any) -> Any:
    """The data without keys that hold nothing: an empty `title:` is a title not given."""
    if isinstance(value, dict):
        return {key: without_empty(each) for key, each in value.items() if each is not None}
    if isinstance(value, list):
        return [without_empty(each) for each in value]
    return value


def beside(name: str, file: str) -> Path | None:
    """Where a file lies that a part file names: beside it or below; of standard input, in the folder one is in.

    None where the name leads elsewhere.
    """
    folder = Path(file).parent if file != "-" else Path()
    try:
        path = (folder / name).resolve()
        inside = not Path(name).is_absolute() and path.is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):
        inside = False
    return folder / name if inside else None
