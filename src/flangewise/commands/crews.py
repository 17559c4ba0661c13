"""Who does the work of a run over many parts: this process, some of this machine, or a cluster."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from flangewise.jobs.crew import Hire

# Handed over as `jobs` and `executor`.
jobs_option = click.option("--jobs", "jobs", metavar="N", type=click.IntRange(1), help="Processes; else one a core.")
# Handed over as `jobs` where one process is the rule: a person looks on, and an interrupt ends a search, not the run.
one_job_option = click.option(
    "--jobs",
    "jobs",
    metavar="N",
    type=click.IntRange(1),
    default=1,
    show_default=True,
    help="Processes for many parts.",
)
_CLUSTER = "Workers of a dask.distributed scheduler instead: dask://HOST:PORT. Needs flangewise[cluster]."
executor_option = click.option("--executor", "executor", metavar="ADDRESS", help=_CLUSTER)


def hired(jobs: int | None, executor: str | None, works: int) -> Hire | None:
    """The crew for so many pieces of work; None where they are done here. Raises Unusable for a cluster not reached."""
    if executor is None:
        from flangewise.jobs.crew import processes

        return processes(jobs or os.cpu_count() or 1, works)
    if jobs is not None:
        raise click.UsageError("--jobs is for processes of this machine: leave it out with --executor")
    from flangewise.jobs.cluster import cluster

    return cluster(executor)
