"""The example set: one small commented file of every kind, to be changed into one's own."""

from pathlib import Path
from typing import Final

from combwright.demo.new_files import packaged_text, write_new

_TEXTS: Final = (
    "READ-ME-FIRST.txt",
    "rack.csv",
    "orders.csv",
    "parts.csv",
    "expected.csv",
    "comb.toml",
    "workshop.toml",
    "layout.toml",
    "temperament.toml",
    "player.toml",
)


def write_example(folder: Path | str) -> tuple[Path, ...]:
    """Write the example set into a folder, made where it is missing.

    Parameters
    ----------
    folder : Path or str
        Where it goes.

    Returns
    -------
    tuple of Path
        The files, `READ-ME-FIRST.txt` first.

    Raises
    ------
    WouldOverwrite
        If one of the files is there; then nothing was written.
    CannotWrite
        If the folder cannot be made or written to.
    """
    return write_new(folder, {name: packaged_text("example_files", name) for name in _TEXTS})
