"""The shop's addresses as far as the look's tests need them; its rooms are empty pages."""

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import render
from django.template import engines
from django.urls import include, path

from combwright.shop.look import urls as look
from combwright.shop.look.examples import ExampleFilter


def room(request, **_named):
    return render(request, "look/base.html")


BINS = """{% extends "look/base.html" %}{% load django_htmx %}
{% block scripts %}{% htmx_script %}{% endblock %}
{% block main %}<h1>Bins</h1>
{% include "look/_filter.html" with submit_label="Show" found="found" %}
<div id="found"><p data-announce>{{ bins|length }} bins</p>{{ bins|join:" " }}</div>
{% endblock %}"""


def found(request):
    text = request.GET.get("text", "")
    bins = [code for code in ("A-1", "A-2", "B-1") if text in code]
    context = {"form": ExampleFilter(request.GET), "bins": bins}
    return HttpResponse(engines["django"].from_string(BINS).render(context, request))


def forbidden(request):
    raise PermissionDenied("Your role, Packer, may not correct the ledger; ask the owner.")


def broken(request):
    raise RuntimeError("as if a bug were here")


def posted(request):
    return HttpResponse("written", content_type="text/plain")


rack = (
    [
        path("", room, name="heat"),
        path("bins/", room, name="bins"),
        path("bin/<code>/", room, name="bin"),
        path("batches/", room, name="batches"),
        path("ledger/", room, name="ledger"),
    ],
    "rack",
)
people = (
    [
        path("", room, name="list"),
        path("me/", room, name="me"),
        path("leave/", posted, name="logout"),
    ],
    "people",
)
urlpatterns = [
    path("", room, name="home"),
    path("rack/", include(rack)),
    path("people/", include(people)),
    path("look/", include((look.urlpatterns, "look"))),
    path("found/", found),
    path("forbidden/", forbidden),
    path("broken/", broken),
]
