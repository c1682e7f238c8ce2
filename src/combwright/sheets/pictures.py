"""A picture written to a file of its own."""

import os
import tempfile
from pathlib import Path

from combwright.sheets.bad_sheet import BadSheet


def check_picture(path: Path) -> None:
    """Refuse a file that no SVG can be written to, before the work that leads to one.

    Raises
    ------
    BadSheet
        If its name does not end in .svg, or it is a folder, or its folder is not there.
    """
    if path.suffix.casefold() != ".svg":
        raise BadSheet(f"The picture is SVG; name it so: {path.name or 'picture'}.svg.")
    if path.is_dir():
        raise BadSheet(f"{str(path)!r} is a folder; name a file for the picture.")
    if not path.parent.is_dir():
        raise BadSheet(f"There is no folder {str(path.parent)!r} for the picture; make it first.")


def write_picture(path: Path, svg: str) -> None:
    """Write an SVG to a file, which is replaced once all is written.

    Raises
    ------
    BadSheet
        If it cannot be written.
    """
    check_picture(path)
    try:
        with tempfile.TemporaryDirectory(prefix=".picture-", dir=path.parent) as folder:
            new = Path(folder) / path.name
            new.write_text(svg, encoding="utf-8", newline="\n")
            new.replace(path)
    except OSError as error:
        why = os.strerror(error.errno) if error.errno else str(error)
        raise BadSheet(f"The picture cannot be written to {str(path)!r} ({why}).") from error
