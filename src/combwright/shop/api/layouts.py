"""Layouts for programs: the catalogue's and the shop's own."""

from typing import Annotated

from django.utils.translation import gettext as _
from ninja import Path, Query, Router
from pydantic import Field

from combwright.notes.keys import parse_key
from combwright.shop.api import problems
from combwright.shop.api.given import LayoutAsked
from combwright.shop.api.operations import reads
from combwright.shop.api.problems import Problem
from combwright.shop.api.told import LayoutNamed, Layouts, LayoutTold, SeatTold
from combwright.shop.api.words import WITHOUT_NUL
from combwright.shop.designs import queries
from combwright.shop.people.roles import May

router = Router(tags=["Layouts"])
LayoutCode = Annotated[str, Field(min_length=1, max_length=60, pattern=WITHOUT_NUL)]


@reads(router, "/layouts", May.LOOK, Layouts)
def list_layouts() -> Layouts:
    """List the layouts: the shop's own, then the catalogue's."""
    return Layouts(
        layouts=[
            LayoutNamed(
                layout=each.code,
                title=each.layout.title,
                about=each.layout.about,
                holes=each.layout.holes,
                own=each.own,
            )
            for each in queries.layouts()
        ]
    )


@reads(router, "/layouts/{path:layout}", May.LOOK, LayoutTold)
def show_layout(layout: Path[LayoutCode], asked: Query[LayoutAsked]) -> LayoutTold:
    """Show a layout with its seats, in a key."""
    try:
        found = queries.layout(layout)
    except queries.NoSuchDesign as error:
        text = _("There is no layout %(layout)r; the list of layouts names all.")
        raise Problem(problems.NOT_THERE, text % {"layout": layout}) from error
    key = parse_key(asked.key)
    own = queries.own("layout", layout) is not None
    return LayoutTold(
        layout=layout,
        title=found.title,
        about=found.about,
        holes=found.holes,
        own=own,
        key=key.name,
        seats=[SeatTold.of(seat) for seat in found.in_key(key).seats],
    )
