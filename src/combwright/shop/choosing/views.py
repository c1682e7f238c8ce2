"""The pages that ask: which layout, which reeds; each with what was worked out before."""

from collections.abc import Mapping
from typing import Any, Final

from django.core.paginator import Paginator
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from combwright.shop.choosing import actions, queries
from combwright.shop.choosing.candidates import own_instruments
from combwright.shop.choosing.forms import MatchForm, SwapsForm
from combwright.shop.choosing.models import Answer
from combwright.shop.designs.queries import combs, layouts
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.people.views import posted
from combwright.shop.repertoire.models import Repertoire

PAGE: Final = 50
Question = MatchForm | SwapsForm
form_page: Final = require_http_methods(["GET", "HEAD", "POST"])


@form_page
@needs(May.LOOK)
def match(request: ShopRequest, key: int) -> HttpResponse:
    """Show the rankings of a repertoire, and ask for one; a POST begins to work it out."""
    there = _repertoire(key)
    form = MatchForm(posted(request), layouts=layouts(), own=own_instruments(there))
    if request.method == "POST":
        return _asked(request, there, Answer.MATCH, form)
    return _shown(request, there, Answer.MATCH, form)


@form_page
@needs(May.LOOK)
def swaps(request: ShopRequest, key: int) -> HttpResponse:
    """Show what was found for a repertoire by swapping reeds, and ask; a POST begins to search."""
    there = _repertoire(key)
    form = SwapsForm(
        posted(request), repertoire=there, layouts=layouts(), own=own_instruments(there),
        combs=combs(),
    )  # fmt: skip
    if request.method == "POST":
        return _asked(request, there, Answer.SWAPS, form)
    return _shown(request, there, Answer.SWAPS, form)


def _repertoire(key: int) -> Repertoire:
    return get_object_or_404(Repertoire.objects.select_related("customer"), pk=key)


@needs(May.WISH)
def _asked(request: ShopRequest, there: Repertoire, kind: str, form: Question) -> HttpResponse:
    if form.is_valid():
        try:
            answer = actions.ask(request.user, there, kind, form.asked())
        except actions.NotSo as error:
            form.add_error(None, str(error))
        else:
            return redirect("choosing:one", answer.pk)
    return _shown(request, there, kind, form)


def _shown(request: ShopRequest, there: Repertoire, kind: str, form: Form) -> HttpResponse:
    found = queries.answers_of(there.pk, kind)
    context: Mapping[str, Any] = {
        "repertoire": there,
        "form": form,
        "page": Paginator(found, PAGE).get_page(request.GET.get("page")),
        "tunes": there.melodies.count(),
    }
    status = 422 if form.errors else 200
    return render(request, f"choosing/{kind}.html", context, status=status)
