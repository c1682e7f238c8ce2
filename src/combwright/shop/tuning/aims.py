"""What the reeds of an instrument aim at: its seats and its kit's plates, each with its pitch."""

from dataclasses import dataclass
from typing import Final

from combwright.notes.names import note_name
from combwright.notes.pitch import hertz
from combwright.shop.plans.models import Taken
from combwright.shop.register.models import Instrument
from combwright.shop.register.queries import plates_held

_SEMITONE_MC: Final = 100_000
_CENT_MC: Final = 1000


@dataclass(frozen=True, slots=True)
class Aim:
    """A reed and the pitch it should have.

    Parameters
    ----------
    place : str
        `3 upper blow`, or `kit 1`.
    label : str
        As people say it: `3 blow`, or a kit's plate with what the customer calls it.
    midi, wanted_mc : int
        The note, and the pitch in thousandths of a cent above MIDI note 0.
    taken : int
        The key of its plate's way.
    """

    place: str
    label: str
    midi: int
    wanted_mc: int
    taken: int

    @property
    def hz(self) -> float:
        """The pitch in hertz; temperament and standard pitch are in it."""
        off = (self.wanted_mc - self.midi * _SEMITONE_MC) / _CENT_MC
        return float(hertz(self.midi, off))

    @property
    def note(self) -> str:
        """The note's name."""
        return note_name(self.midi)

    @property
    def in_kit(self) -> bool:
        """Whether it goes along loose, and is measured in the seat that it is for."""
        return self.place.startswith("kit")


def aims(instrument: Instrument) -> list[Aim]:
    """List what the reeds of an instrument aim at, hole by hole, blow first; its kit comes last."""
    seated = [
        Aim(
            f"{each.hole} {each.deck} {each.breath}", f"{each.hole} {each.breath}", each.midi,
            each.wanted_mc, each.taken_id,
        )
        for each in sorted(
            plates_held(instrument), key=lambda e: (e.hole, e.breath != "blow", e.deck != "upper")
        )
    ]  # fmt: skip
    twice = {one.label for one in seated if sum(one.label == o.label for o in seated) > 1}
    seated = [
        Aim(one.place, one.place, one.midi, one.wanted_mc, one.taken) if one.label in twice else one
        for one in seated
    ]
    return [*seated, *_kit(instrument)]


def _kit(instrument: Instrument) -> list[Aim]:
    rows = Taken.objects.filter(
        wish=instrument.wish_id, copy=instrument.copy, state=Taken.PICKED, place__startswith="kit"
    ).order_by("place")
    return [
        Aim(row.place, f"{row.place} ({row.label})" if row.label else row.place, row.midi,
            row.wanted_mc, row.pk)
        for row in rows
    ]  # fmt: skip
