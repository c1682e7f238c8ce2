"""What was heard of the demo's instruments: a take before the touching up, and one after it."""

from decimal import Decimal
from typing import Final
from uuid import uuid4

import numpy as np

from combwright.demo.sounding import played
from combwright.files.recordings import Recording, pack
from combwright.files.results import Read
from combwright.shop.people.models import Person
from combwright.shop.register.models import Condition, Instrument
from combwright.shop.tuning import actions, take_actions
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.take_actions import NewTake
from combwright.shop.tuning.take_hearing import listen

#: How far reeds stray from their aims, in cents, before and after they are touched up.
_BEFORE, _AFTER = 5.0, 1.0
_BITS: Final = 16
_TEMPERATURE: Final = Decimal("21.5")


def hear(person: Person, instrument: Instrument) -> None:
    """Keep two takes of an instrument, heard, covers off both times."""
    microphone = actions.name_microphone(person, "bench tablet")
    actions.set_breath(microphone, -30.0, -12.0)
    seats = [aim for aim in aims(instrument) if not aim.in_kit]
    for seed, stray in enumerate((_BEFORE, _AFTER), start=1):
        off = np.random.default_rng(seed).normal(0, stray, len(seats))
        sound = played(
            [aim.hz * 2 ** (cents / 1200) for aim, cents in zip(seats, off, strict=True)], seed=seed
        )
        packed = Recording(pack(sound, _BITS), sound.rate, sound.seconds)
        new = NewTake(
            uuid4(), f"take-{seed}.wav", Read(packed, ()), Condition.OPEN, _TEMPERATURE, microphone,
            "",
        )  # fmt: skip
        take = take_actions.take_in(person, instrument, new, by_worker=False)
        take_actions.keep_heard(take, listen(take))
