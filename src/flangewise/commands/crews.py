"""Who does the work of a run over many parts: this process, some of this machine, or a cluster."""

from __future__ import annotations

import os

import click

from flangewise.jobs.crew import Hire, processes

# Handed over as `jobs` and `executor`.
jobs_option = click.option("--jobs", "jobs", metavar="N", type=click.IntRange(1), help="Processes; else one a core.")
_CLUSTER = "Workers of a dask.distributed scheduler instead: dask://HOST:PORT. Needs flangewise[cluster]."
executor_option = click.option("--executor", "executor", metavar="ADDRESS", help=_CLUSTER)


def hired(jobs: int | None, executor: str | None, works: int) -> Hire | None:
    """The crew for so many pieces of work; None where they are done here. Raises Unusable for a cluster not reached."""
    if executor is None:
        return processes(jobs or os.cpu_count() or 1, works)
    if jobs is not None:
        raise click.UsageError("--jobs is for processes of this machine: leave it out with --executor")
    from flangewise.jobs.cluster import cluster

    return cluster(executor)
