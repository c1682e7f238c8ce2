"""Books of tab: asked for, waited for, and taken away."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from combwright.notes.keys import ORDINARY_KEYS
from combwright.shop.jobs import actions as jobs
from combwright.shop.orders.queries import layout_titles
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.repertoire import book_actions, queries
from combwright.shop.repertoire.actions import NotSo
from combwright.shop.repertoire.models import Repertoire, TabBook
from combwright.shop.repertoire.tab_forms import Asked, TabForm, asked_in


@require_safe
@needs(May.LOOK)
def books(request: ShopRequest, key: int) -> HttpResponse:
    """List the books of a repertoire; ask for another one."""
    repertoire = get_object_or_404(Repertoire, pk=key)
    return _listed(request, repertoire, TabForm(asked_in(request.GET.dict())), 200)


def _listed(
    request: ShopRequest, repertoire: Repertoire, form: TabForm, status: int
) -> HttpResponse:
    found = [(book, Asked(**book.asked)) for book in queries.books_of(repertoire)]
    titles = layout_titles(asked.layout for _book, asked in found)
    rows = [(book, asked.words(titles)) for book, asked in found]
    context = {"repertoire": repertoire, "form": form, "rows": rows, "keys": ORDINARY_KEYS}
    return render(request, "repertoire/books.html", context, status=status)


@require_POST
@needs(May.WISH)
def make(request: ShopRequest, key: int) -> HttpResponse:
    """Have a book made."""
    repertoire = get_object_or_404(Repertoire, pk=key)
    form = TabForm(asked_in(request.POST.dict()))
    if form.is_valid():
        try:
            book = book_actions.order(request.user, repertoire, form.asked)
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            return redirect("repertoire:book", book.pk)
    return _listed(request, repertoire, form, 422)


def _book(key: int) -> TabBook:
    rows = TabBook.objects.select_related("repertoire", "made_by", "job").defer("pdf")
    return get_object_or_404(rows, pk=key)


def _shown(book: TabBook) -> dict[str, Any]:
    return {
        "book": book,
        "repertoire": book.repertoire,
        "words": Asked(**book.asked).words(),
        "made": queries.is_made(book),
        "job": book.job,
        "state": reverse("repertoire:book-state", args=[book.pk]),
        "waiting": _("The book waits for a worker that is free."),
        "stopped": _("Making the book was stopped."),
    }


@never_cache
@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show a book: how far it is, or where it is taken away."""
    return render(request, "repertoire/book.html", _shown(_book(key)))


@never_cache
@require_safe
@needs(May.LOOK)
def state(request: ShopRequest, key: int) -> HttpResponse:
    """Show how far a book is, for a page that asks again; at the end, renew the page."""
    shown = _shown(_book(key))
    if shown["made"] or shown["job"] is None or not shown["job"].is_open:
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(request, "repertoire/_work.html", shown)


@require_POST
@needs(May.WISH)
def stop(request: ShopRequest, key: int) -> HttpResponse:
    """Have the making of a book stopped."""
    book = _book(key)
    if book.job is not None:
        jobs.ask_to_stop(book.job, request.user)
    return redirect("repertoire:book", key)


@require_POST
@needs(May.WISH)
def again(request: ShopRequest, key: int) -> HttpResponse:
    """Have a book made whose job came to nothing."""
    book = _book(key)
    try:
        made = book_actions.order(request.user, book.repertoire, Asked(**book.asked))
    except NotSo as error:
        messages.warning(request, str(error))
        return redirect("repertoire:books", book.repertoire_id)
    return redirect("repertoire:book", made.pk)


@require_safe
@needs(May.LOOK)
def pdf(_request: ShopRequest, key: int) -> HttpResponse:
    """Give a book."""
    book = get_object_or_404(TabBook, pk=key)
    if book.pdf is None:
        raise Http404(_("This book is not made yet."))
    answer = HttpResponse(bytes(book.pdf), content_type="application/pdf")
    answer["Content-Disposition"] = f'attachment; filename="tab-book-{key}.pdf"'
    return answer
