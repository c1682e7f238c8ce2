"""Running the `combwright` command: here, for speed, or apart, as a person runs it."""

import contextlib
import io
import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from combwright.cli import main

COMMAND = str(Path(sys.executable).with_name("combwright"))


@dataclass(frozen=True)
class Answer:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def document(self):
        """The one JSON document that standard output holds."""
        assert self.code == 0, self.err
        return json.loads(self.out)

    @property
    def errors(self):
        """The lines of a refusal, without what they all begin with."""
        assert (self.code, self.out) == (2, ""), self
        lines = self.err.splitlines()
        assert lines
        assert all(line.startswith("Error: ") and len(line) < 600 for line in lines), lines
        return [line.removeprefix("Error: ") for line in lines]

    @property
    def error(self):
        """The only line of a refusal."""
        (line,) = self.errors
        return line


def combwright(*arguments, cwd="."):
    """Run the command in this process; a bug raises here, as it would end in a traceback there.

    What watches for Ctrl-C is left out: it takes hold of the whole process, and is tested apart.
    """
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    with (
        mock.patch.object(sys, "argv", ["combwright", *map(str, arguments)]),
        mock.patch.object(main, "end_at_once_when_interrupted"),
        contextlib.chdir(cwd),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            main.run()
        except SystemExit as stop:
            code = stop.code
    return Answer(code, *(stream.buffer.getvalue().decode() for stream in (out, err)))


def combwright_apart(*arguments, cwd=".", **options):
    """Run the installed command in a process of its own."""
    done = subprocess.run(
        [COMMAND, *map(str, arguments)], cwd=cwd, capture_output=True, timeout=60, **options
    )
    return Answer(done.returncode, done.stdout.decode(), done.stderr.decode())


def listing(folder):
    """Return every file and folder below a folder, with its size and when it changed."""
    return {
        str(path.relative_to(folder)): (path.is_dir() or path.stat().st_size, path.stat().st_mtime)
        for path in Path(folder).rglob("*")
    }
