"""The command's front door: every command's name, and one place that turns errors into a line."""

import os
import sys
from typing import Annotated

import typer

import combwright
from combwright.cli import asking, files, layouts, planning, shows
from combwright.cli.interrupts import INTERRUPTED, end_at_once_when_interrupted
from combwright.errors import CombwrightError

PUT_RIGHT = 2

app = typer.Typer(
    help="From a customer's wish to twenty reed plates, each in its seat.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)
app.command("demo")(planning.demo)
app.command("example")(files.example)
app.command("check")(files.check)
app.command("layouts")(layouts.layouts)
app.command("show")(shows.show)
app.command("fit")(asking.fit)
app.command("can")(asking.can)
app.command("plan")(planning.plan)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"combwright {combwright.__version__}")
        raise typer.Exit


@app.callback()
def combwright_command(
    _version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """From a customer's wish to twenty reed plates, each in its seat."""


def run() -> None:
    """Run the command line; our own errors become lines on standard error, a bug its traceback."""
    end_at_once_when_interrupted()
    try:
        outcome = app(standalone_mode=False)
    except (KeyboardInterrupt, typer.Abort):
        raise SystemExit(INTERRUPTED) from None
    except CombwrightError as error:
        _fail(str(error))
    except typer.TyperException as error:
        _fail(f"{getattr(error, 'format_message', error.__str__)()} See 'combwright --help'.")
    except BrokenPipeError:
        # The reader went away; without this Python would complain again while it closes.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(0) from None
    raise SystemExit(outcome if isinstance(outcome, int) else 0)


def _fail(text: str) -> None:
    typer.echo("\n".join(f"Error: {line}" for line in text.splitlines()), err=True)
    raise SystemExit(PUT_RIGHT) from None
