"""Hearing a take: from its sound, its instrument's aims and its microphone's clock to readings."""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from combwright.ear.sound import Sound, level_db
from combwright.ear.takes import Heard as HeardNote
from combwright.ear.takes import Take as HeardTake
from combwright.ear.takes import hear_take
from combwright.errors import CombwrightError
from combwright.files.recordings import unpack
from combwright.shop.register.models import Heard, Take
from combwright.shop.tuning.aims import Aim, aims
from combwright.shop.tuning.clocks import Clock, clock_of
from combwright.shop.tuning.take_order import targets

_MC: Final = 1000
#: Fields of a few digits hold no more than this; a reed that far off is no reed of its seat.
_MOST_MC: Final = 1_000_000
NOTHING: Final = (
    "No reed of this instrument is heard in the recording. Hold each reed for a second, close to "
    "the microphone, and see that it is this instrument."
)


class Unheard(CombwrightError):
    """A take in which no reed of its instrument is heard."""


@dataclass(frozen=True, slots=True)
class Found:
    """What hearing a take found, as it is kept.

    Parameters
    ----------
    readings : sequence of Heard
        Not saved yet.
    missing : sequence
        Place and label of each seat that was not heard.
    ignored : sequence
        When each sound that was left out began and ended, and why.
    remarks : sequence
        What seems odd, and the labels of the seats concerned.
    """

    readings: Sequence[Heard]
    missing: Sequence[Mapping[str, str]]
    ignored: Sequence[Mapping[str, Any]]
    remarks: Sequence[Mapping[str, Any]]


def listen(take: Take) -> Found:
    """Hear a take; its instrument, microphone and recording should be loaded.

    Raises
    ------
    CombwrightError
        If nothing of the instrument is heard, or its seats are no longer those of the take.
    """
    sound = unpack(bytes(take.recording.data))
    heard = hear_take(sound, targets(aims(take.instrument), take.played))
    if not heard.notes:
        raise Unheard(NOTHING)
    clock = clock_of(take.microphone)
    swapped = {aim.place for pair in heard.interchanged for aim in pair}
    return Found(
        [_reading(take, note, sound, clock, swapped) for note in heard.notes],
        [{"place": aim.place, "label": aim.label} for aim in heard.missing],
        [
            {
                "start_s": round(o.stretch.start_s, 3),
                "end_s": round(o.stretch.end_s, 3),
                "why": o.why,
            }
            for o in heard.ignored
        ],
        list(_remarks(heard)),
    )


def _reading(
    take: Take, note: HeardNote[Aim], sound: Sound, clock: Clock, swapped: Collection[str]
) -> Heard:
    """Return a reading; the clock's error is the same for all of a take, and is in each of them.

    Of seats that seem interchanged nobody knows which plate was heard, so these are unsure.
    """
    part, aim = note.stretch.settled(), note.seat
    sd = math.hypot(note.reading.sd_cents, clock.sd_cents)
    return Heard(
        take=take, instrument=take.instrument, taken_id=aim.taken, place=aim.place, midi=aim.midi,
        wanted_mc=aim.wanted_mc, off_mc=round((note.cents + clock.cents) * _MC),
        sd_mc=min(_MOST_MC, math.ceil(sd * _MC)),
        spread_mc=min(_MOST_MC, round(note.reading.spread_cents * _MC)),
        level_db=round(level_db(sound.part(part.start_s, part.end_s).samples), 2),
        snr_db=round(note.reading.snr_db, 1), unsure=note.unsure or aim.place in swapped,
        condition=take.condition, temperature=take.temperature, microphone=take.microphone,
        start_s=round(note.stretch.start_s, 3), end_s=round(note.stretch.end_s, 3), by=take.by,
    )  # fmt: skip


def _remarks(heard: HeardTake[Aim]) -> Iterator[Mapping[str, Any]]:
    for one, other in heard.interchanged:
        yield {"what": "interchanged", "seats": [one.label, other.label]}
    for aim in heard.silent:
        yield {"what": "silent", "seats": [aim.label]}
