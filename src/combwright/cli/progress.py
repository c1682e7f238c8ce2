"""A progress bar on standard error, for people who watch a terminal and for nobody else."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress_bar() -> Iterator[Callable[[str, float], None] | None]:
    """Give a function to be told of progress, a text and a share of 0 to 1; None off a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description:<42}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)

        def told(text: str, share: float) -> None:
            bar.update(task, description=text, completed=share)

        yield told
