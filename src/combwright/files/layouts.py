"""layout.toml: a layout of one's own, written in C; read and written."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.layouts import Layout
from combwright.comb.seats import BREATHS, DECKS, MOST_HOLES, USUAL_DECK, Breath, Deck, Seat
from combwright.files.opening import read_text
from combwright.files.results import Read, one_line
from combwright.files.settings import MOST_MIB, Section, Settings, parse_settings, toml_text
from combwright.notes.names import note_name

MOST_CENTS: Final = 200.0
_USUAL_HOLES: Final = 10


def read_layout(path: Path | str) -> Read[Layout]:
    """Read a layout in C: `title`, `about`, `blow`, `draw` and `[[seat]]`s.

    A list that is left out is one of empty seats. A `[[seat]]` says `hole`, `breath` and, where it
    is not the breath's usual one, `deck`; its `pitch` replaces what the lists put there and `""`
    takes it out; without a `pitch` it only adds its `cents` to the note that is there.

    Raises
    ------
    BadFile
        If the file cannot be opened or is no TOML.
    BadTable
        If a note is none, the lists differ in length, a seat lies beyond the holes or is given
        twice, or a value is of the wrong type or out of range; one line for each.
    """
    path = Path(path)
    return parse_layout(read_text(path, most_mib=MOST_MIB), name=path.name)


def parse_layout(text: str, *, name: str) -> Read[Layout]:
    """Read a layout from a text, as `read_layout` does from a file of that name.

    Raises
    ------
    BadFile, BadTable
        As `read_layout`.
    """
    settings = parse_settings(text, name=name)
    title = settings.text("title", "") or one_line(Path(name).stem)
    about = settings.prose("about")
    lists = {breath: settings.items(breath, (str,)) for breath in BREATHS if settings.has(breath)}
    holes = _holes(settings, lists)
    seats = {
        (seat.hole, seat.deck): seat
        for breath, notes in lists.items()
        for seat in _row(settings, breath, notes)
    }
    given: set[tuple[int, Deck]] = set()
    for section in settings.sections("seat"):
        _override(section, seats, given, holes)
    unknown = settings.finish()
    return Read(Layout(title, tuple(seats.values()), holes=holes, about=about), unknown)


def find_layout(name_or_path: str, folder: Path) -> Layout:
    """Return a layout in C: of a TOML file, relative to a folder, or of the catalogue.

    Parameters
    ----------
    name_or_path : str
        An id of the catalogue, or the name of a file that ends in `.toml`.
    folder : Path
        Where the file's name begins.

    Raises
    ------
    BadFile, BadTable
        As `read_layout`.
    NoSuchLayout
        If the catalogue has none of that name.
    """
    return look_up_layout(name_or_path, folder).value


def look_up_layout(name_or_path: str, folder: Path) -> Read[Layout]:
    """Return what `find_layout` does, with the warnings of the file it stands in."""
    name = name_or_path.strip()
    if name.lower().endswith(".toml"):
        return read_layout(folder / name)
    return Read(catalogue_layout(name))


def layout_toml(layout: Layout) -> str:
    """Write a layout in C so that `read_layout` reads the same one again."""
    lines = [f"title = {toml_text(layout.title)}"]
    if layout.about:
        lines.append(f"about = {toml_text(layout.about)}")
    for breath in BREATHS:
        notes = (_listed(layout, hole, breath) for hole in range(1, layout.holes + 1))
        lines.append(f"{breath} = [{', '.join(toml_text(note) for note in notes)}]")
    for seat in layout.seats:
        if seat.cents or seat.deck != USUAL_DECK[seat.breath]:
            lines += [
                "",
                "[[seat]]",
                f"hole = {seat.hole}",
                f"deck = {toml_text(seat.deck)}",
                f"breath = {toml_text(seat.breath)}",
                f"pitch = {toml_text(note_name(seat.midi))}",
                f"cents = {seat.cents!r}",
            ]
    return "\n".join(lines) + "\n"


def _listed(layout: Layout, hole: int, breath: Breath) -> str:
    seat = layout.at(hole, USUAL_DECK[breath])
    return note_name(seat.midi) if seat is not None and seat.breath == breath else ""


def _holes(settings: Settings, lists: Mapping[Breath, Sequence[str]]) -> int:
    """Return how many holes the lists make, ten where there is none."""
    if len({len(notes) for notes in lists.values()}) > 1:
        settings.wrong(
            "draw",
            f"there are {len(lists['draw'])} draw notes and {len(lists['blow'])} blow notes; "
            'give one of each a hole, "" for an empty seat.',
        )
    holes = max((len(notes) for notes in lists.values()), default=_USUAL_HOLES)
    if 1 <= holes <= MOST_HOLES:
        return holes
    settings.wrong(next(iter(lists)), f"there are {holes} notes; a layout has 1 to {MOST_HOLES}.")
    return MOST_HOLES


def _row(settings: Settings, breath: Breath, notes: Sequence[str]) -> Iterator[Seat]:
    for hole, written in enumerate(notes, start=1):
        note = settings.as_note(breath, written) if written.strip() else None
        if note is not None:
            yield Seat(hole, USUAL_DECK[breath], breath, note.midi, note.cents)


def _override(
    section: Section,
    seats: dict[tuple[int, Deck], Seat],
    given: set[tuple[int, Deck]],
    holes: int,
) -> None:
    """Let one `[[seat]]` replace, empty, add or fine-tune a seat."""
    hole = section.whole("hole", 1, holes)
    breath = section.choice("breath", BREATHS)
    deck = section.choice("deck", DECKS, USUAL_DECK[breath])
    cents = section.number("cents", -MOST_CENTS, MOST_CENTS, 0.0)
    place = (hole, deck)
    if place in given:
        section.wrong("hole", f"seat {hole} {deck} is given twice; give it once.")
    given.add(place)
    old = seats.get(place)
    written = section.text("pitch", "").strip()
    if section.has("pitch") and not written:
        seats.pop(place, None)
    elif written:
        note = section.as_note("pitch", written)
        if note is not None and note.cents and section.has("cents"):
            section.wrong("cents", f"the pitch {written} has cents of its own; leave one out.")
        if note is not None:
            seats[place] = Seat(hole, deck, breath, note.midi, note.cents or cents)
    elif old is None or old.breath != breath:
        section.wrong("pitch", f"is missing; there is no {breath} note in seat {hole} {deck} yet.")
    else:
        seats[place] = Seat(hole, deck, old.breath, old.midi, old.cents + cents)
