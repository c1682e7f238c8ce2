"""`combwright run-jobs`: a worker that takes up the shop's jobs."""

import logging
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.interrupts import INTERRUPTED
from combwright.cli.serving import shop_installed, use_data_folder

if TYPE_CHECKING:
    from combwright.shop.jobs.models import Job


def run_jobs(
    data: Annotated[
        Path | None,
        typer.Option("--data", help="The data folder; the user's own data folder without."),
    ] = None,
    once: Annotated[
        bool, typer.Option("--once", help="Do what is due now, then end, instead of waiting.")
    ] = False,
) -> None:
    """Take up the shop's jobs one after another, on as many machines as you like, until stopped."""
    use_data_folder(data)
    with shop_installed():
        from combwright.shop.jobs.running import ready_worker
    from combwright.shop.jobs.leaving import told_by_signals

    with told_by_signals(interrupts=True) as leaving:
        worker, remark = ready_worker(leaving.event, _say)
        logging.getLogger("combwright.jobs").setLevel(logging.WARNING)  # the lines below say it
        if remark:
            typer.echo(f"Note: {remark}", err=True)
        ends = "it ends when nothing is due" if once else "Ctrl-C ends it"
        typer.echo(f"Worker {worker.name} takes up jobs; {ends}.")
        if once:
            worker.work_off()
        else:
            worker.work_until_told()
        interrupted = leaving.interrupted
    if interrupted:
        raise typer.Exit(INTERRUPTED)


def _say(job: "Job") -> None:
    seconds = "" if job.seconds is None else f" in {job.seconds:.1f} s"
    why = f": {job.error}" if job.error else ""
    outcome = "put back" if job.state == job.WAITING else job.get_state_display()
    typer.echo(f"Job {job.pk}, {job.kind}: {outcome}{seconds}{why}")
