"""The house's page, and the page that shows every part of the look in every state."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from combwright.shop.look.examples import (
    drawn_comb,
    example_forms,
    filter_form,
    heat_rows,
    some_page,
)


@require_safe
def house(request: HttpRequest) -> HttpResponse:
    """Show the rooms that are entered now and then; what one may not open is left out."""
    return render(request, "look/house.html")


@require_safe
def parts(request: HttpRequest) -> HttpResponse:
    """Show all parts; the forms on it write nothing."""
    context = {
        "comb": drawn_comb(),
        "filter_form": filter_form(),
        "forms": example_forms(),
        "heat_rows": heat_rows(),
        "page": some_page(request.GET.get("page")),
    }
    return render(request, "look/parts.html", context)
