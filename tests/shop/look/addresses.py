"""The shop's addresses as far as the look's tests need them: rooms that answer with an empty page."""

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import include, path

from combwright.shop.look import urls as look


def room(request, **_named):
    return render(request, "look/base.html")


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
    path("forbidden/", forbidden),
    path("broken/", broken),
]
