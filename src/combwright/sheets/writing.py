"""Writing a plan's sheets into a folder: all of them, or none."""

import os
import tempfile
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from combwright.allocation.answer import Plan
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop
from combwright.comb.combs import Comb
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.build_sheets import build_sheet_pdf
from combwright.sheets.from_plan import Sheets, sheets_of
from combwright.sheets.labels import labels_pdf
from combwright.sheets.order_sheets import OrderSheet
from combwright.sheets.picks import pick_list_pdf
from combwright.sheets.typeset import Press, press

#: Told what is being done and which share of it, 0 to 1.
Progress = Callable[[str, float], None]
_LONGEST_NAME: Final = 100  # bytes; file systems allow 255, a path around it needs room


def write_sheets(
    plan: Plan,
    stock: Stock,
    comb: Comb,
    workshop: Workshop,
    folder: Path,
    *,
    progress: Progress | None = None,
) -> tuple[Path, ...]:
    """Write pick list, build sheets and labels of a plan's ready orders.

    Files of the same names are replaced once all are made; until then the folder is unchanged.
    Labels are left out where there is nothing to label.

    Parameters
    ----------
    plan, stock, comb
        As for `sheets_of`.
    workshop : Workshop
        Paper and label sheet.
    folder : Path
        Made when it is not there.
    progress : callable or None
        Told of every file.

    Returns
    -------
    tuple of Path
        The files, the pick list first.

    Raises
    ------
    BadSheet
        If the folder is a file or cannot be written to, or a label sheet does not fit its paper.
    """
    sheets = sheets_of(plan, stock, comb)
    with _workplace(folder) as workplace:
        names: list[str] = []
        todo = 3 + len(sheets.orders)
        for name, pdf in _pdfs(sheets, workshop):
            if progress is not None:
                progress(name, len(names) / todo)
            (workplace / name).write_bytes(pdf)
            names.append(name)
        _move(workplace, folder, names)
    if progress is not None:
        progress("sheets written", 1.0)
    return tuple(folder / name for name in names)


def _move(workplace: Path, folder: Path, names: Sequence[str]) -> None:
    for name in names:
        if (folder / name).is_dir():
            raise BadSheet(f"{name!r} is a folder in {str(folder)!r}; move it away.")
    for name in names:
        (workplace / name).replace(folder / name)


def _pdfs(sheets: Sheets, workshop: Workshop) -> Iterator[tuple[str, bytes]]:
    with press() as shared:
        yield (
            "pick-list.pdf",
            pick_list_pdf(sheets.picks, workshop=workshop, parts=sheets.parts, shared=shared),
        )
        for name, order in zip(file_names(sheets.orders), sheets.orders, strict=True):
            yield name, build_sheet_pdf(order, workshop=workshop, shared=shared)
        yield from _label_pdfs(sheets, workshop, shared)


def _label_pdfs(sheets: Sheets, workshop: Workshop, shared: Press) -> Iterator[tuple[str, bytes]]:
    for title, labels in (("Bin labels", sheets.bin_labels), ("Order labels", sheets.order_labels)):
        if labels:
            name = title.lower().replace(" ", "-") + ".pdf"
            yield name, labels_pdf(labels, workshop=workshop, title=title, shared=shared)


def file_names(orders: Sequence[OrderSheet]) -> tuple[str, ...]:
    """Return a file name for each order's build sheet: safe on any system, and no two alike.

    Letters and digits of any script stay, everything else becomes a dash. Names that would fall
    together, also on a system that ignores case, are numbered.
    """
    taken: set[str] = set()
    names = []
    for order in orders:
        copy = order.copies[0]
        text = f"{order.order} {copy.row}.{copy.copy}" if order.part else order.order
        stem = _safe(text)
        name, number = f"build-{stem}.pdf", 1
        while name.casefold() in taken:
            number += 1
            name = f"build-{stem}-{number}.pdf"
        taken.add(name.casefold())
        names.append(name)
    return tuple(names)


def _safe(text: str) -> str:
    letters = unicodedata.normalize("NFC", text)
    dashed = "".join(c if c.isalnum() or c == "_" else "-" for c in letters)
    stem = "-".join(part for part in dashed.split("-") if part)
    return stem.encode()[:_LONGEST_NAME].decode(errors="ignore") or "order"


@contextmanager
def _workplace(folder: Path) -> Iterator[Path]:
    """Give a hidden folder inside `folder`, from which files can be moved in at one stroke."""
    if folder.exists() and not folder.is_dir():
        raise BadSheet(f"{str(folder)!r} is a file; name a folder for the sheets.")
    new = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".sheets-", dir=folder) as name:
            yield Path(name)
    except OSError as error:
        raise BadSheet(
            f"The sheets cannot be written to {str(folder)!r} "
            f"({os.strerror(error.errno) if error.errno else error}); name another folder."
        ) from error
    finally:
        if new:
            with suppress(OSError):  # it holds the sheets, or was never made
                folder.rmdir()
