"""A picture or a document written to a file of its own."""

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
    _check(path, "picture", "SVG")


def check_pdf(path: Path) -> None:
    """Refuse a file that no PDF can be written to, before the work that leads to one.

    Raises
    ------
    BadSheet
        If its name does not end in .pdf, or it is a folder, or its folder is not there.
    """
    _check(path, "document", "PDF")


def write_picture(path: Path, svg: str) -> None:
    """Write an SVG to a file, which is replaced once all is written.

    Raises
    ------
    BadSheet
        If it cannot be written.
    """
    check_picture(path)
    _write(path, svg.encode(), "picture")


def write_pdf(path: Path, pdf: bytes) -> None:
    """Write a PDF to a file, which is replaced once all is written.

    Raises
    ------
    BadSheet
        If it cannot be written.
    """
    check_pdf(path)
    _write(path, pdf, "document")


def _check(path: Path, what: str, form: str) -> None:
    ending = f".{form.lower()}"
    if path.suffix.casefold() != ending:
        raise BadSheet(f"The {what} is {form}; name it so: {path.name or what}{ending}.")
    if path.is_dir():
        raise BadSheet(f"{str(path)!r} is a folder; name a file for the {what}.")
    if not path.parent.is_dir():
        raise BadSheet(f"There is no folder {str(path.parent)!r} for the {what}; make it first.")


def _write(path: Path, data: bytes, what: str) -> None:
    try:
        with tempfile.TemporaryDirectory(prefix=f".{what}-", dir=path.parent) as folder:
            new = Path(folder) / path.name
            new.write_bytes(data)
            new.replace(path)
    except OSError as error:
        why = os.strerror(error.errno) if error.errno else str(error)
        raise BadSheet(f"The {what} cannot be written to {str(path)!r} ({why}).") from error
