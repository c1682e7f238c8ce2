"""Kinds of settings files that other rooms read, so that `check` can tell them too."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from combwright.files.results import Read


@dataclass(frozen=True, slots=True)
class FileKind:
    """A kind of TOML file.

    Parameters
    ----------
    name : str
        As people call it.
    keys : tuple of str
        Top keys, each of which it is known by.
    summary : callable
        Reads a file of the kind and says in a line what it holds.
    """

    name: str
    keys: tuple[str, ...]
    summary: Callable[[Path], Read[str]]
