"""One plan a problem, one PDF a page: within a process of tests, what was worked out once is not worked out again."""

from __future__ import annotations

import gc
import math
import sys
from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from types import ModuleType

import pytest

from flangewise import jobs, sequence
from flangewise.jobs import panel_plan, plan_part
from flangewise.jobs.blanks import Alike
from flangewise.jobs.job import Job
from flangewise.jobs.panel import PanelJob
from flangewise.jobs.panel_plan import PanelPlan
from flangewise.jobs.panel_rows import ToldRows
from flangewise.jobs.shut import ShutBends
from flangewise.part.packing import Programs
from flangewise.sequence import UNLIMITED, SectionProblem, Shapes, Solution, Watch
from flangewise.sheet import Attachment, Record, Wording, family, panel_leaf, queue_page, render
from flangewise.shop import Shop

# A search with so many seconds left comes to its end in a test.
LONG_S = 2.0
SOLVED: dict[tuple[SectionProblem, float], Solution] = {}
PLANNED: dict[str, PanelPlan | float] = {}
ORDERED: dict[str, Job] = {}
LAID_OUT: dict[str, bytes] = {}
PDF_MAKERS = (render, family, panel_leaf, queue_page)
_solve = sequence.solve
_find_order = plan_part.find_order
_on_machine = panel_plan._on_machine
_pdf_of = render.pdf_of


def remembered(problem: SectionProblem, kept: object = None, *, below_s: float = math.inf) -> Solution:
    """The plan of a problem, from memory where the very same one was solved before and its time is not nearly over.

    Problems are frozen and their plans too, so one may serve many. What keeps shapes for further searches is solved.
    """
    watch = problem.limits.watch
    if kept is not None or watch.over() or watch.until - watch.clock() < LONG_S:
        return _solve(problem, kept, below_s=below_s)  # type: ignore[arg-type]
    unlimited = replace(UNLIMITED, any_plan=watch.any_plan, quick=watch.quick)
    problem = replace(problem, limits=replace(problem.limits, watch=unlimited))
    if (problem, below_s) not in SOLVED:
        SOLVED[problem, below_s] = _solve(problem, below_s=below_s)
    return SOLVED[problem, below_s]


def order_remembered(
    job: Job,
    *,
    below_s: float = math.inf,
    shut: ShutBends | None = None,
    shapes: Shapes | None = None,
    left: Sequence[Sequence[Alike]] | None = None,
) -> Job:
    """The order of a part over all its tools, from memory where the same part had one: who reads it, how it is packed
    and what a cell holds are not asked for an order."""
    watch = job.watch
    if watch.over() or watch.until - watch.clock() < LONG_S:
        return _find_order(job, below_s=below_s, shut=shut, shapes=shapes, left=left)
    part = replace(job.part, name="", title="", file="", programs=Programs(), packing=None)
    handlers = {name: row.model_copy(update={"cell": None}) for name, row in job.shop.handlers.items()}
    offers = {bend: [pair.tools.name for pair in each] for bend, each in job.offers.items()}
    shop = replace(job.shop, handlers=handlers, boxes={})
    asked = (part, shop, job.machine, job.handler, offers, job.least_grips_s, below_s, watch.any_plan, watch.quick)
    question = repr(asked)
    if question not in ORDERED:
        endless = replace(job, watch=replace(watch, until=math.inf))
        ORDERED[question] = _find_order(endless, below_s=below_s, shut=shut, shapes=shapes, left=left)
    known = ORDERED[question]
    # The blank bears the name of its part, which rides into its DXF.
    pattern = None if known.pattern is None else replace(known.pattern, part=job.part.name)
    return replace(known, part=job.part, shop=job.shop, watch=watch, pattern=pattern)


def panel_remembered(job: PanelJob, shop: Shop, watch: Watch, rows: ToldRows, *, below_s: float) -> PanelPlan | float:
    """The plan of a panel on a machine, from memory where the same part, to the letter, had one with the same shop."""
    if watch.over() or watch.until - watch.clock() < LONG_S:
        return _on_machine(job, shop, watch, rows, below_s=below_s)
    question = f"{job.part!r} {job.machine!r} {shop!r} {watch.any_plan} {watch.quick} {rows!r} {below_s!r}"
    if question not in PLANNED:
        PLANNED[question] = _on_machine(job, shop, watch, rows, below_s=below_s)
    return PLANNED[question]


def pdf_remembered(
    html: str,
    *,
    attachments: tuple[Attachment, ...],
    record: Record,
    wording: Wording,
    tighter: Iterable[Callable[[], str]] = (),
    most_pages: int = 0,
) -> bytes:
    """The PDF of a page, from memory where the very same one was made before; what is tighter follows from the page."""
    question = f"{attachments!r} {record!r} {wording!r} {most_pages} {html}"
    if question not in LAID_OUT:
        more = {"tighter": tighter, "most_pages": most_pages}
        LAID_OUT[question] = _pdf_of(html, attachments=attachments, record=record, wording=wording, **more)
    return LAID_OUT[question]


# What is made between two looks for what could be thrown away, and of such looks between two at older things: memory is
# there, and Python's own 700, 10 and 10 take the twentieth part of all tests.
SELDOM = (50_000, 20, 50)


def pytest_configure(config: pytest.Config) -> None:
    """Files are handed to the processes in their order, not by how many tests they have.

    A file of one law over a hundred sheets takes longer than one of a hundred small tests; handed out last it would
    leave the other process with nothing to do. The last in the alphabet are short.
    """
    config.option.loadscopereorder = False


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Thousands of tests are gathered, none to be thrown away: to look for what could be is a quarter of the time."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(*SELDOM)
        gc.enable()


@pytest.fixture(autouse=True)
def plans_are_remembered(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Jobs and sheets ask the memory; the room of the search itself, and what is marked `anew`, work each time."""
    if request.node.get_closest_marker("anew") is not None:
        return
    for module in _askers(len(sys.modules)):
        monkeypatch.setattr(module, "solve", remembered)
    monkeypatch.setattr(plan_part, "find_order", order_remembered)
    monkeypatch.setattr(panel_plan, "_on_machine", panel_remembered)
    for maker in PDF_MAKERS:
        monkeypatch.setattr(maker, "pdf_of", pdf_remembered)


@lru_cache(maxsize=1)
def _askers(loaded: int) -> list[ModuleType]:
    """The modules of the jobs that ask the search, looked for again when more modules are loaded."""
    assert loaded == len(sys.modules)
    named = [module for name, module in sys.modules.items() if name.startswith(jobs.__name__)]
    return [module for module in named if getattr(module, "solve", None) is _solve]
