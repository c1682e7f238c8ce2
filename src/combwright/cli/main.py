"""The command's front door: every command's name, and one place that turns errors into a line."""

import errno
import os
import sys
from io import TextIOWrapper
from typing import Annotated, NoReturn

import typer

import combwright
from combwright.cli import (
    asking,
    comparing,
    files,
    hearing,
    jobs,
    keeping,
    layouts,
    letting_in,
    matching,
    planning,
    serving,
    shows,
    swapping,
    tabbing,
    takes,
)
from combwright.cli.interrupts import INTERRUPTED, end_at_once_when_interrupted
from combwright.errors import CombwrightError

PUT_RIGHT = 2

app = typer.Typer(
    help="From a customer's wish to twenty reed plates, each in its seat.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)
app.command("demo")(planning.demo)
app.command("example")(files.example)
app.command("check")(files.check)
app.command("layouts")(layouts.layouts)
app.command("show")(shows.show)
app.command("fit")(asking.fit)
app.command("can")(asking.can)
app.command("plan")(planning.plan)
app.command("tab")(tabbing.tab)
app.command("match")(matching.match)
app.command("swaps")(swapping.swaps)
app.command("pitch")(hearing.pitch)
app.command("take")(takes.take)
app.command("compare")(comparing.compare)
app.command("serve")(serving.serve)
app.command("run-jobs")(jobs.run_jobs)
app.command("backup")(keeping.backup)
app.command("restore")(keeping.restore)
app.command("move-shop")(keeping.move_shop)
app.command("practice")(keeping.practice)
app.command("let-in")(letting_in.let_in)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"combwright {combwright.__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def combwright_command(
    context: typer.Context,
    _version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """From a customer's wish to twenty reed plates, each in its seat."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def run() -> None:
    """Run the command line; our own errors become lines on standard error, a bug its traceback."""
    end_at_once_when_interrupted()
    _write_any_letter()
    try:
        outcome = app(standalone_mode=False)
    except (KeyboardInterrupt, typer.Abort):
        raise SystemExit(INTERRUPTED) from None
    except CombwrightError as error:
        _fail(str(error))
    except typer.TyperException as error:
        _fail(_usage(error))
    except SystemExit as stop:
        # A reader that went away, as in `| head`, is no fault, though it is one to typer.
        gone = isinstance(stop.__context__, BrokenPipeError)
        _drop_output()
        raise SystemExit(0 if gone else stop.code) from None
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise
        _drop_output()
        _fail("The answer cannot be written: no space is left; make room, or send it elsewhere.")
    raise SystemExit(outcome if isinstance(outcome, int) else 0)


def _write_any_letter() -> None:
    """Let a terminal that lacks a letter show its number, rather than fail."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _usage(error: typer.TyperException) -> str:
    text = " ".join(getattr(error, "format_message", error.__str__)().split())
    return f"{text.rstrip('.')}. See 'combwright --help'."


def _drop_output() -> None:
    # Without this Python would try to write the rest once more while it closes, and complain.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _fail(text: str) -> NoReturn:
    typer.echo("\n".join(f"Error: {line}" for line in text.splitlines()), err=True)
    raise SystemExit(PUT_RIGHT) from None
