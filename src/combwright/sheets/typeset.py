"""Setting pages: a template of the room and its data become a PDF.

The typeface comes with a package and no font of the machine is used, so that a page looks the same
everywhere; nothing is fetched. The same data give the same bytes.
"""

import json
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, nullcontext
from importlib.resources import as_file, files
from pathlib import Path
from typing import Final

import typst

from combwright.sheets import look

#: The cuts that the templates use; the package holds each a second time in another format.
_CUTS: Final = ("Regular", "It", "Semibold", "Bold")
_COLOURS: Final[Mapping[str, str]] = {
    "ink": look.INK,
    "paper": look.PAPER,
    "plate": look.PLATE,
    "comb": look.COMB,
    "brass": look.BRASS,
    "next": look.NEXT,
    "wrong": look.WRONG,
    "quiet": look.QUIET,
}


class Press:
    """Sets pages; made by `press`, which keeps its fonts at hand for as long as it is open."""

    def __init__(self, templates: Path, fonts: typst.Fonts) -> None:
        self._templates = templates
        self._compiler = typst.Compiler(root=templates, font_paths=fonts, ignore_system_fonts=True)

    def set_pages(self, template: str, data: Mapping[str, object]) -> bytes:
        """Return the PDF of a template, `labels` for `labels.typ`, filled with plain data."""
        given = {**data, "look": {**_COLOURS, "typeface": look.TYPEFACE}}
        pdf = self._compiler.compile(
            input=self._templates / f"{template}.typ",
            format="pdf",
            sys_inputs={"data": json.dumps(given)},
            # A page that says when it was printed could not be compared with an earlier one.
            timestamp=0,
        )
        if not isinstance(pdf, bytes):
            raise TypeError(f"Template {template!r} gave no single PDF.")
        return pdf


@contextmanager
def press() -> Iterator[Press]:
    """Open a press; a run of many sheets shares one, since finding fonts takes longest."""
    source = files("font_source_sans_pro") / "files"
    templates = files("combwright.sheets") / "templates"
    with (
        tempfile.TemporaryDirectory(prefix="combwright-") as folder,
        as_file(source) as cuts,
        as_file(templates) as here,
    ):
        for cut in _CUTS:
            shutil.copy(cuts / f"SourceSansPro-{cut}.ttf", folder)
        fonts = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=True, font_paths=[folder]
        )
        yield Press(here, fonts)


def pages(template: str, data: Mapping[str, object], shared: Press | None) -> bytes:
    """Set pages on a shared press, or on one opened for them alone."""
    with nullcontext(shared) if shared else press() as used:
        return used.set_pages(template, data)


def shortened(text: str, most: int) -> str:
    """Return text on one line, cut to `most` characters with an ellipsis."""
    line = on_one_line(text)
    return line if len(line) <= most else line[: most - 1] + "\u2026"


def on_one_line(text: str) -> str:
    """Return text as it is printed: control characters and runs of space become one space."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
