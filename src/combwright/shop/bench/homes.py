"""Bins for plates that come back to the rack with another pitch than they left it with.

All bins that are touched are locked at once, in the order of their keys: two people whose plates
come back at the same time wait for one another and never in a ring.
"""

from collections.abc import Collection, Sequence

from combwright.shop.rack.actions import NewBin, make_bin
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Bin

_SEMITONE = 100 * MILLICENTS_PER_CENT


def divided(pitch_mc: int) -> tuple[int, int]:
    """Return the nearest note and the offset from it, in thousandths of a cent."""
    midi = (pitch_mc + _SEMITONE // 2) // _SEMITONE
    return midi, pitch_mc - midi * _SEMITONE


def pitch_of(plate_bin: Bin) -> int:
    """Return the absolute pitch that a bin tells of its plates, in thousandths of a cent."""
    return plate_bin.midi * _SEMITONE + plate_bin.millicents


def home_for(source: Bin, pitch_mc: int) -> Bin:
    """Return the bin for a plate that came from one bin and has another pitch now; see `homes`."""
    return homes([(source, pitch_mc)])[0]


def homes(plates: Sequence[tuple[Bin, int]], *, also: Collection[int] = ()) -> list[Bin]:
    """Return a bin for each plate that came from a bin and has some pitch now.

    It is the bin it came from if that still says the truth, else one that holds such plates of
    that batch, else a new one, named after the first. Must be called in a transaction.

    Parameters
    ----------
    plates : sequence of (Bin, int)
        From which bin, its batch loaded, and the pitch now in thousandths of a cent.
    also : collection of int
        Keys of more bins to lock, which the caller is going to touch.
    """
    keys = {source.pk for source, _pitch in plates} | set(also)
    keys |= {home.pk for each in plates if (home := _known(*each)) is not None}
    list(Bin.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    # Somebody may have made one while we waited.
    return [_known(*each) or _made(*each) for each in plates]


def _known(source: Bin, pitch_mc: int) -> Bin | None:
    if pitch_of(source) == pitch_mc:
        return source
    midi, millicents = divided(pitch_mc)
    same = Bin.objects.filter(
        midi=midi, millicents=millicents, slot_um=source.slot_um, mount=source.mount,
        batch_id=source.batch_id, held=source.held,
    )  # fmt: skip
    return same.order_by("pk").first()


def _made(source: Bin, pitch_mc: int) -> Bin:
    midi, millicents = divided(pitch_mc)
    new = NewBin(
        code=_free_code(source.code), midi=midi, slot_um=source.slot_um,
        mount="front" if source.mount == "front" else "rear", millicents=millicents,
        cut=source.cut, walk=source.walk, cost=source.cost,
    )  # fmt: skip
    made = make_bin(new, source.batch.code)
    if source.held:
        made.held = True
        made.save(update_fields=["held"])
    return made


def _free_code(code: str) -> str:
    """Return the first free of `A-03 filed 1`, `A-03 filed 2` and so on."""
    # What is filed a second time is named after the first bin, too.
    stem = f"{code.partition(' filed ')[0][:28]} filed "
    there = set(Bin.objects.filter(code__startswith=stem).values_list("code", flat=True))
    return next(name for n in range(1, len(there) + 2) if (name := f"{stem}{n}") not in there)
