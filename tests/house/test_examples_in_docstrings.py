"""The examples in docstrings are run: what they show is what comes out."""

from __future__ import annotations

import doctest
import importlib

from .source_tree import modules


def test_the_examples_in_docstrings_hold() -> None:
    shown = [module for module in modules() if ">>> " in module.path.read_text(encoding="utf-8")]
    failed, tried = [], 0
    for module in shown:
        run = doctest.testmod(importlib.import_module(f"flangewise.{module.name}"), optionflags=doctest.ELLIPSIS)
        tried += run.attempted
        failed += [module.name] if run.failed else []
    assert failed == []
    # Every line that shows one was met: none stands where no docstring is.
    assert tried >= sum(module.path.read_text(encoding="utf-8").count(">>> ") for module in shown) >= 8
