"""Parts: what an instrument uses besides plates, counted in parts.csv."""

from decimal import Decimal
from pathlib import Path
from typing import Final

from combwright.allocation.stock import Part
from combwright.files.cells import money, name, whole
from combwright.files.decimals import Mark
from combwright.files.grids import Column
from combwright.files.results import Read
from combwright.files.tables import complete, read_table

MOST_PARTS: Final = 100_000_000
PARTS_COLUMNS: Final = (
    Column("part"),
    Column("count", number=True),
    Column("cost", must=False, number=True),
)


def read_parts(path: Path | str, *, decimal: Mark | None = None) -> Read[dict[str, Part]]:
    """Read `part,count,cost`; cost may be left out.

    Parameters
    ----------
    path : Path or str
        Of a CSV file or a workbook.
    decimal : {"point", "comma"}, optional
        The decimal mark; told from the file where it is not given.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read.
    BadTable
        If anything in it is wrong, one line for each; so when a part stands in two rows.
    """
    table = read_table(path, PARTS_COLUMNS, decimal=decimal)
    names = table.filled("part", name)
    counts = table.filled("count", whole(0, MOST_PARTS))
    costs = table.optional("cost", money, Decimal(0))
    first: dict[str, int] = {}
    for row, part in zip(table.rows, names, strict=True):
        if part is not None and first.setdefault(part, row) != row:
            table.problems.add(
                f"part {part!r} stands in row {first[part]} already; give each part one row.",
                row=row,
                column="part",
            )
    table.finish()
    rows = zip(complete(names), complete(counts), complete(costs), strict=True)
    parts = {part: Part(part, count, cost) for part, count, cost in rows}
    return Read(parts, table.warnings)
