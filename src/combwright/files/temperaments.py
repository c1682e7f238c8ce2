"""temperament.toml: cents around equal temperament, from the tonic or reed by reed."""

from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Final

from combwright.comb.seats import BREATHS, MOST_HOLES
from combwright.files.results import Read, one_line
from combwright.files.settings import Settings, read_settings
from combwright.notes.temperament import Temperament, named_temperament

MOST_CENTS: Final = 200.0
_NOTES: Final = 12


def find_temperament(name_or_path: str, folder: Path) -> Temperament:
    """Return a temperament: of a TOML file, relative to a folder, or one with a name.

    Parameters
    ----------
    name_or_path : str
        `equal`, `5-limit`, `7-limit`, `19-limit`, or the name of a file that ends in `.toml`.
    folder : Path
        Where the file's name begins.

    Raises
    ------
    BadFile, BadTable
        As `read_temperament`.
    BadTemperament
        If there is none of that name.
    """
    return look_up_temperament(name_or_path, folder).value


def look_up_temperament(name_or_path: str, folder: Path) -> Read[Temperament]:
    """Return what `find_temperament` does, with the warnings of the file it stands in."""
    name = name_or_path.strip()
    if name.lower().endswith(".toml"):
        return read_temperament(folder / name)
    return Read(named_temperament(name))


def read_temperament(path: Path | str) -> Read[Temperament]:
    """Read `cents = [twelve numbers from the tonic]`, `[[seat]] hole, breath, cents`, or both.

    Cents are beside equal temperament. A reed that has a `[[seat]]` keeps to that and to nothing
    else; without `cents` all other reeds are in equal temperament.

    Raises
    ------
    BadFile
        If the file cannot be opened or is no TOML.
    BadTable
        If there are not twelve numbers, a reed is given twice, or a value is of the wrong type or
        more than 200 cents; one line for each.
    """
    settings = read_settings(path)
    title = settings.text("title", "") or one_line(Path(path).stem)
    settings.prose("about")
    cents = _twelve(settings)
    reeds = _reeds(settings)
    if not (settings.has("cents") or settings.has("seat")):
        settings.wrong(
            "cents", "is missing; give twelve numbers, or [[seat]] with hole, breath, cents."
        )
    return Read(Temperament(title, cents, MappingProxyType(reeds)), settings.finish())


def _twelve(settings: Settings) -> tuple[float, ...]:
    items = settings.items("cents", (Decimal, int))
    if settings.has("cents") and len(items) != _NOTES and not settings.problems:
        settings.wrong("cents", f"there are {len(items)} numbers; give twelve, from the tonic up.")
    for item in items:
        if not (Decimal(item).is_finite() and abs(item) <= MOST_CENTS):
            settings.wrong(
                "cents",
                f"{str(item)[:20]} is out of range; {-MOST_CENTS:g} to {MOST_CENTS:g} beside equal "
                "temperament is right.",
            )
    fit = len(items) == _NOTES and not settings.problems
    return tuple(float(item) for item in items) if fit else (0.0,) * _NOTES


def _reeds(settings: Settings) -> dict[tuple[int, str], float]:
    reeds: dict[tuple[int, str], float] = {}
    for section in settings.sections("seat"):
        reed = (section.whole("hole", 1, MOST_HOLES), section.choice("breath", BREATHS))
        if reed in reeds:
            section.wrong("hole", f"{reed[0]} {reed[1]} is given twice; give it once.")
        cents = section.number("cents", -MOST_CENTS, MOST_CENTS)
        reeds[reed] = cents
    return reeds
