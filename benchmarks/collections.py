"""The public collections of fiddle tunes that music21 carries, read by our own reader.

The printed sources are in the public domain: O'Neill 1903, Ryan 1883, Aird 1778 to 1801, and some
folk tunes. music21 is a package for development alone.
"""

from importlib.util import find_spec
from pathlib import Path

from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.tune import Reading, Tune

FIDDLE = ("oneills1850", "ryansMammoth", "airdsAirs")
ALL = (*FIDDLE, "miscFolk")


def texts(collections: tuple[str, ...] = ALL) -> list[tuple[str, str]]:
    """Return the name and the text of every ABC file of some collections."""
    spec = find_spec("music21")  # found, not imported: only its files are wanted
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("music21, which carries the collections, is not installed")
    root = Path(spec.origin).parent / "corpus"
    found = []
    for collection in collections:
        found += [
            (f"{collection}/{each.name}", each.read_text("utf-8", errors="replace"))
            for each in sorted((root / collection).glob("*.abc"))
        ]
    return found


def read_collections(collections: tuple[str, ...] = FIDDLE) -> Reading:
    """Read every tune of some collections."""
    readings = [read_abc(text, name) for name, text in texts(collections)]
    tunes: tuple[Tune, ...] = tuple(tune for each in readings for tune in each.tunes)
    return Reading(tunes, tuple(fault for each in readings for fault in each.faults))
