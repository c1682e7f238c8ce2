"""Factory sets and batches for programs."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from http import HTTPStatus
from typing import Any

from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.gate import Called
from combwright.shop.api.given import BatchesAsked, SetIn, SliceIn, WhichSet, WhyHeld
from combwright.shop.api.ledger import entry_told
from combwright.shop.api.operations import reads, writes
from combwright.shop.api.problems import Problem
from combwright.shop.api.told import (
    Batches,
    BatchTold,
    EntryTold,
    SetProposed,
    SliceTold,
    money,
)
from combwright.shop.api.words import AskedCode
from combwright.shop.people.roles import May
from combwright.shop.rack import actions, sets
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Batch

router = Router(tags=["Sets and batches"])


@reads(router, "/sets/proposal", May.RECEIVE, SetProposed)
def propose_set(asked: Query[WhichSet]) -> SetProposed:
    """Propose a bin for each plate of a set: the same plates' bin, or a new one."""
    return SetProposed(plates=_proposed(asked))


@writes(router, "/sets", May.RECEIVE, EntryTold)
def receive_set(request: Called, body: SetIn) -> EntryTold:
    """Receive factory sets that are sliced into bins."""
    plates = body.plates
    if plates is None:
        plates = [SliceIn.model_validate(each.model_dump()) for each in _proposed(body)]
    _check_losses(plates, body.sets)
    lost = {each.cut or each.bin: each.lost for each in plates}
    note = body.note or sets.note_of({"key": body.key, "sets": body.sets}, lost)
    slices = [each.slice(body.sets) for each in plates]
    return entry_told(actions.slice_set(request.auth.person, body.batch, slices, note=note))


def _check_losses(plates: Sequence[SliceIn], came: int) -> None:
    for each in plates:
        if each.lost > came:
            text = _("Bin %(bin)s: %(lost)d plates cannot be lost of %(came)d.")
            raise NotSo(text % {"bin": each.bin, "lost": each.lost, "came": came})


def _proposed(which: WhichSet) -> list[SliceTold]:
    said = {
        "key": which.key,
        "batch": which.batch,
        "place": which.place,
        "cost": Decimal(which.cost),
    }
    return [slice_told(each) for each in sets.proposal(said)]


def slice_told(each: Mapping[str, Any]) -> SliceTold:
    """Return what is proposed for a plate as programs get it."""
    return SliceTold(
        bin=each["code"],
        pitch=each["note"],
        cents=each["cents"] or 0.0,
        slot_mm=each["slot"],
        mount=each["mount"],
        cut=each["cut"],
        walk=each["walk"],
        cost=money(each["cost"]),
        lost=each["lost"],
    )


def _the_batch(code: str) -> Batch:
    found = Batch.objects.filter(code=code).first()
    if found is None:
        raise Problem(problems.NOT_THERE, _("There is no batch %(batch)r.") % {"batch": code})
    return found


@reads(router, "/batches", May.LOOK, Batches)
def list_batches(asked: Query[BatchesAsked]) -> Batches:
    """List the batches in the order of their names."""
    found = Batch.objects.order_by("code")
    if asked.after is not None:
        found = found.filter(code__gt=asked.after)
    part = list(found[: asked.limit + 1])
    told = [BatchTold.of(each) for each in part[: asked.limit]]
    return Batches(batches=told, next=told[-1].batch if len(part) > asked.limit else None)


@reads(router, "/batches/{path:batch}", May.LOOK, BatchTold)
def show_batch(batch: Path[AskedCode]) -> BatchTold:
    """Show a batch."""
    return BatchTold.of(_the_batch(batch))


@writes(router, "/hold/{path:batch}", May.HOLD, BatchTold, status=HTTPStatus.OK)
def hold(batch: Path[AskedCode], body: WhyHeld) -> BatchTold:
    """Keep a batch out of every plan and pick."""
    actions.hold(_the_batch(batch), body.because)
    return BatchTold.of(_the_batch(batch))


@writes(router, "/release/{path:batch}", May.HOLD, BatchTold, status=HTTPStatus.OK)
def release(batch: Path[AskedCode]) -> BatchTold:
    """Let a batch into plans and picks again."""
    actions.release(_the_batch(batch))
    return BatchTold.of(_the_batch(batch))
