"""The standard layout as seats to be played and listened for."""

from benchmarks import instruments

from combwright.ear.takes import Target
from published import rows

#: Seats of the standard layout on C4, in the order of playing. Source: [oeis-a291810].
SEATS = [
    (f"{row['hole']} {breath}", 60 + int(row[breath]))
    for row in rows("oeis_a291810.csv")
    for breath in ("blow", "draw")
]
ORDER = [Target(seat, 440 * 2 ** ((midi - 69) / 12)) for seat, midi in SEATS]


def made(seed, *, seats=SEATS, **options):
    """Return an instrument with the reeds of such seats."""
    return instruments.Instrument(seed, dict(seats), **options)
