"""The demo workshop: about 2,400 plates, some sixty open orders and everything they refer to.

The workshop, its comb, its layouts, its order numbers and its tunes are invented. The rack is made
by `stock_left`; all other files are texts in `shop_files`; the tunes go into its shop alone.
"""

import csv
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from combwright.allocation.stock import Bin
from combwright.demo.new_files import packaged_text, write_new
from combwright.demo.stock_left import rack_bins
from combwright.notes.names import note_name

_TEXTS: Final = (
    "orders.csv",
    "parts.csv",
    "comb.toml",
    "comb-long.toml",
    "workshop.toml",
    "layout-turned-third.toml",
    "layout-low-drone.toml",
    "temperament-soft-thirds.toml",
)
_HEADER: Final = "bin,pitch,cents,slot_mm,mount,batch,count,cost,cut,walk,held"


def write_demo_shop(folder: Path | str) -> tuple[Path, ...]:
    """Write the demo workshop's files into a folder, made where it is missing.

    Files that are there already just as they would be written are left.

    Parameters
    ----------
    folder : Path or str
        Where they go.

    Returns
    -------
    tuple of Path
        `rack.csv` and `orders.csv` first, then what they are planned with. The bytes are the same
        every time and on every machine.

    Raises
    ------
    WouldOverwrite
        If one of the files is there and was changed; then nothing was written.
    CannotWrite
        If the folder cannot be made or written to.
    """
    texts = {name: packaged_text("shop_files", name) for name in _TEXTS}
    return write_new(folder, {"rack.csv": rack_text(rack_bins()), **texts}, same_is_fine=True)


def shop_text(name: str) -> str:
    """Return one of the workshop's texts, such as `comb.toml`."""
    return packaged_text("shop_files", name)


def order_rows() -> tuple[Mapping[str, str], ...]:
    """Return the rows of the workshop's orders, by their columns' names."""
    return tuple(csv.DictReader(shop_text("orders.csv").splitlines()))


def part_rows() -> tuple[Mapping[str, str], ...]:
    """Return the rows of the workshop's parts, by their columns' names."""
    return tuple(csv.DictReader(shop_text("parts.csv").splitlines()))


def rack_text(bins: Iterable[Bin]) -> str:
    """Write bins as rack.csv."""
    return "\n".join((_HEADER, *map(_row, bins))) + "\n"


def _row(each: Bin) -> str:
    cells = (each.code, note_name(each.midi), f"{each.cents:g}", f"{each.slot_mm:.2f}", each.mount,
             each.batch, str(each.count), str(each.cost), each.cut, each.walk,
             "yes" if each.held else "")  # fmt: skip
    return ",".join(cells)
