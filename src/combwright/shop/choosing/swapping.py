"""The best reeds to swap for a repertoire: the work of a job, told as the search goes on."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import reduce
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from combwright.allocation.eligible import reach
from combwright.comb.changes import kit_seats, parse_kit
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.notes.pitch import MILLICENTS_PER_SEMITONE
from combwright.playing.costs import PlayingCosts, preset
from combwright.playing.lines import line_of
from combwright.playing.repertoire import repertoire_of
from combwright.playing.stock import Kit, kit_supply, limited, rack_supply, with_kit
from combwright.playing.supply import Supply, joined
from combwright.playing.swap_answer import SwapAnswer, tell
from combwright.playing.swap_documents import swaps_document
from combwright.playing.swap_sets import Swap, SwapSpace, swap_space
from combwright.playing.swapping import search
from combwright.shop.choosing.actions import NotSo, Worked
from combwright.shop.choosing.bases import Base, base_of
from combwright.shop.choosing.matching import Told, spare_threads
from combwright.shop.choosing.picture import swaps_pictures
from combwright.shop.designs import queries as designs
from combwright.shop.orders.wish_changes import changes_between
from combwright.shop.plans.asking import unclaimed_bins
from combwright.shop.repertoire.models import Repertoire
from combwright.shop.repertoire.queries import tunes_of
from combwright.tunes.tune import Tune


def swapped_for(repertoire: Repertoire, asked: Mapping[str, Any], told: Told) -> Worked:
    """Find the best swaps for what was asked, and return them as they are kept.

    Raises
    ------
    CombwrightError
        If the base or the comb can no longer be read, or the kit does not go with them.
    """
    version = repertoire.version
    tunes = tunes_of(repertoire)
    base = base_of(repertoire, asked)
    space = space_of(base, asked)
    answer = _searched(space, tunes, preset(asked["player"]), asked["most"], base, told)
    said = {
        **swaps_document(answer), "tunes": len(tunes), "notes": sum(len(t.notes) for t in tunes),
        "base_of": base.told, "wishes": _wishes(answer, base, asked["comb"]),
    }  # fmt: skip
    return Worked(version, said, _best(answer), swaps_pictures(answer, _comb(asked)))


def space_of(base: Base, asked: Mapping[str, Any]) -> SwapSpace:
    """Return every swap that was asked for, as far as there are plates for it.

    Raises
    ------
    NotSo
        If the base has a hole that the comb has not.
    CombwrightError
        If the kit cannot be read, or does not go with the base.
    """
    space = swap_space(base.sounding, asked["by"])
    if not (asked["rack"] or asked["kit"]):
        return space
    comb, kit = check_plates(base, asked)
    supplies: list[Supply] = []
    if asked["kit"]:
        space = with_kit(space, kit)
        supplies.append(kit_supply(space, kit, comb))
    if asked["rack"]:
        supplies.append(_rack(space, comb))
    return limited(space, reduce(joined, supplies))


def check_plates(base: Base, asked: Mapping[str, Any]) -> tuple[Comb, Kit]:
    """Return the comb that plates must fit, and the kit's, once they go with the base.

    Raises
    ------
    NotSo
        If the base has a hole that the comb has not.
    CombwrightError
        If the kit cannot be read, or has a plate for no hole there is.
    """
    comb = _comb(asked)
    if asked["rack"] or asked["kit"]:
        _check_holes(base.sounding, comb)
    kit = kit_seats(swap_space(base.sounding, 1).layout, parse_kit(asked["kit"]))
    for _label, seat in kit:
        comb.takes_mm(seat.hole)
    return comb, kit


def _comb(asked: Mapping[str, Any]) -> Comb:
    return designs.comb(asked["comb"]) if asked["comb"] else designs.usual_comb()


def _check_holes(layout: Layout, comb: Comb) -> None:
    beyond = [seat.hole for seat in layout.seats if seat.hole > comb.holes]
    if beyond:
        raise NotSo(
            _("%(title)s has a reed in hole %(hole)d and the comb has %(holes)d holes; choose "
              "another comb.")
            % {"title": layout.title, "hole": beyond[0], "holes": comb.holes}
        )  # fmt: skip


def _rack(space: SwapSpace, comb: Comb) -> Supply:
    """Return the plates of the rack that nothing is set aside of, near enough to be retuned."""
    workshop = designs.workshop()
    # One more: a bin's plates may be off its own note.
    far = math.ceil(max(reach(workshop)) / MILLICENTS_PER_SEMITONE) + 1
    notes = {swap.midi for found in space.swaps for swap in found}
    near = {midi + step for midi in notes for step in range(-far, far + 1)}
    return rack_supply(space, unclaimed_bins(near), comb, workshop)


def _searched(
    space: SwapSpace,
    tunes: Sequence[Tune],
    costs: PlayingCosts,
    most: int,
    base: Base,
    told: Told,
) -> SwapAnswer:
    lines = [line_of(tune, costs) for tune in tunes]
    arrays = repertoire_of(lines)
    hear = heard(space, most, told)
    rounds = search(space, arrays, costs, most=most, threads=spare_threads(), progress=hear)
    told(1, 1, _("what each set changes elsewhere"))
    return tell(rounds, space, tunes, lines, arrays, costs, key=base.pitch_class)


def heard(space: SwapSpace, most: int, told: Told) -> Callable[[int, int, int], None]:
    """Return what a search tells how far it is: its sets are counted over all sizes."""
    sizes = [space.count(size) for size in range(most + 1)]

    def hear(size: int, done: int, of_size: int) -> None:
        facts = {"n": size, "done": _many(done), "all": _many(of_size)}
        told(sum(sizes[:size]) + done, sum(sizes), _("sets of %(n)d: %(done)s of %(all)s") % facts)

    return hear


def _many(number: int) -> str:
    return str(number_format(number, force_grouping=True))


def _wishes(answer: SwapAnswer, base: Base, comb: str) -> list[dict[str, str]]:
    """Return for every set, round by round, the wish that it stands for."""
    return [
        {"layout": base.code, "key": base.key, "comb": comb,
         "changes": changes_between(base.plain, with_swaps(base.sounding, told.found.swaps))}
        for found in answer.rounds for told in answer.of(found)
    ]  # fmt: skip


def with_swaps(sounding: Layout, swaps: Sequence[Swap]) -> Layout:
    """Return the base with reeds swapped; what is not swapped stays as it is written."""
    new = {(swap.seat.hole, swap.seat.deck): swap.midi for swap in swaps}
    seats = tuple(
        replace(seat, midi=new[place], cents=0.0)
        if (place := (seat.hole, seat.deck)) in new else seat
        for seat in sounding.seats
    )  # fmt: skip
    return replace(sounding, seats=seats)


def _best(answer: SwapAnswer) -> str:
    found = answer.best(1)
    if not found:
        return str(_("there are no plates for any swap"))
    if found[0].found.cost >= answer.base.found.cost:
        return str(_("no swap helps; best as it is"))
    return str(_("best: %s") % "; ".join(swap.text for swap in found[0].found.swaps))
