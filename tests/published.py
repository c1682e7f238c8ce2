"""Read the tables of tests/reference: CSV below comment lines that name their source."""

import csv
from pathlib import Path

FOLDER = Path(__file__).parent / "reference"


def rows(name):
    """Return the rows of a published table as dictionaries of strings."""
    lines = (FOLDER / name).read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
