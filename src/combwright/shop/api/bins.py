"""Bins for programs: looked for, looked at, made, and everything that is done to their plates."""

from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.gate import Called
from combwright.shop.api.given import (
    BinIn,
    BinsAsked,
    LinesAsked,
    PlatesFound,
    PlatesIn,
    PlatesMoved,
    PlatesWhy,
)
from combwright.shop.api.ledger import entry_told
from combwright.shop.api.operations import reads, writes
from combwright.shop.api.problems import Problem
from combwright.shop.api.told import Bins, BinTold, BinWhole, EntryTold, Totals
from combwright.shop.api.words import AskedCode
from combwright.shop.designs.queries import usual_comb
from combwright.shop.people.roles import May
from combwright.shop.rack import actions, queries
from combwright.shop.rack.models import Bin

router = Router(tags=["Bins"])


def the_bin(code: str) -> Bin:
    """Find a bin with its batch.

    Raises
    ------
    Problem
        If there is none of that name.
    """
    found = Bin.objects.select_related("batch").filter(code=code).first()
    if found is None:
        raise Problem(problems.NOT_THERE, _("There is no bin %(bin)r.") % {"bin": code})
    return found


@reads(router, "/totals", May.LOOK, Totals)
def totals() -> Totals:
    """Say how many bins and plates there are."""
    return Totals.model_validate(dict(queries.totals()))


@reads(router, "/bins", May.LOOK, Bins)
def list_bins(asked: Query[BinsAsked]) -> Bins:
    """List bins in the order of their names, those that a search finds."""
    found = queries.bins_found(asked.search()).order_by("code")
    count = found.count() if asked.count else None
    if asked.after is not None:
        found = found.filter(code__gt=asked.after)
    part = list(found[: asked.limit + 1])
    told = [BinTold.of(each) for each in part[: asked.limit]]
    return Bins(bins=told, next=told[-1].bin if len(part) > asked.limit else None, count=count)


@reads(router, "/bins/{path:bin}", May.LOOK, BinWhole)
def show_bin(bin: Path[AskedCode], asked: Query[LinesAsked]) -> BinWhole:
    """Show a bin: what it holds, which holes its plates fit, and its ledger."""
    there = the_bin(bin)
    lines = queries.lines_of(there)
    if asked.before is not None:
        lines = lines.filter(pk__lt=asked.before)
    holes = queries.holes_fitted(there, usual_comb())
    return BinWhole.whole(there, holes, list(lines[: asked.limit + 1]), asked.limit)


@writes(router, "/bins", May.ARRANGE, BinTold)
def make_bin(body: BinIn) -> BinTold:
    """Make an empty bin."""
    return BinTold.of(actions.make_bin(body.new_bin(), body.batch))


@writes(router, "/receive/{path:bin}", May.RECEIVE, EntryTold)
def receive(request: Called, bin: Path[AskedCode], body: PlatesIn) -> EntryTold:
    """Take plates into a bin."""
    there, who = the_bin(bin), request.auth.person
    return entry_told(actions.receive(who, there, body.plates, note=body.note))


@writes(router, "/count/{path:bin}", May.COUNT, EntryTold)
def count(request: Called, bin: Path[AskedCode], body: PlatesFound) -> EntryTold:
    """Write down how many plates were found in a bin; one that agrees is written too."""
    there, who = the_bin(bin), request.auth.person
    return entry_told(actions.count(who, there, body.found, note=body.note))


@writes(router, "/scrap/{path:bin}", May.TAKE, EntryTold)
def scrap(request: Called, bin: Path[AskedCode], body: PlatesWhy) -> EntryTold:
    """Take broken or worn plates out of a bin, for good."""
    there, who = the_bin(bin), request.auth.person
    return entry_told(actions.scrap(who, there, body.plates, note=body.note))


@writes(router, "/put-back/{path:bin}", May.TAKE, EntryTold)
def put_back(request: Called, bin: Path[AskedCode], body: PlatesWhy) -> EntryTold:
    """Put plates back into a bin, as from an instrument that was taken apart."""
    there, who = the_bin(bin), request.auth.person
    return entry_told(actions.put_back(who, there, body.plates, note=body.note))


@writes(router, "/move/{path:bin}", May.TAKE, EntryTold)
def move(request: Called, bin: Path[AskedCode], body: PlatesMoved) -> EntryTold:
    """Move plates from a bin into another of the same note and batch."""
    source, target, who = the_bin(bin), the_bin(body.into), request.auth.person
    return entry_told(actions.move(who, source, target, body.plates, note=body.note))
