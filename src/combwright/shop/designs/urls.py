"""The addresses of combs, layouts and the workshop's numbers."""

from typing import Final

from django.urls import URLPattern, path

from combwright.shop.designs import edit_views, file_views, history_views, views
from combwright.shop.designs.queries import WORKSHOP

_OF_WORKSHOP: Final = {"kind": "workshop", "code": WORKSHOP}


def _of_both(kind: str, folder: str) -> list[URLPattern]:
    """Return the addresses that combs and layouts both have."""
    of, one = {"kind": kind}, f"{folder}/<slug:code>/"
    return [
        path(f"{folder}/", views.everything, of, name=f"{kind}-all"),
        path(f"{folder}/new/", edit_views.new, of, name=f"{kind}-new"),
        path(f"{folder}/upload/", file_views.upload, of, name=f"{kind}-upload"),
        path(f"{one}edit/", edit_views.edit, of, name=f"{kind}-edit"),
        path(f"{one}toml/", file_views.download, of, name=f"{kind}-toml"),
        path(f"{one}replace/", file_views.replace, of, name=f"{kind}-replace"),
        path(f"{one}versions/", history_views.versions, of, name=f"{kind}-versions"),
        path(f"{one}versions/<int:number>/", history_views.version, of, name=f"{kind}-version"),
        path(f"{one}retire/", history_views.retire, of, name=f"{kind}-retire"),
        path(f"{one}use/", history_views.use_again, of, name=f"{kind}-use"),
    ]


app_name = "designs"
urlpatterns = [
    path("", views.overview, name="list"),
    *_of_both("layout", "layouts"),
    path("layouts/<slug:code>/", views.layout, name="layout"),
    *_of_both("comb", "combs"),
    path("combs/<slug:code>/", views.comb, name="comb"),
    path("combs/<slug:code>/usual/", history_views.usual, name="comb-usual"),
    path("workshop/", views.workshop, name="workshop"),
    path("workshop/edit/", edit_views.edit_workshop, name="workshop-edit"),
    path("workshop/toml/", file_views.download, _OF_WORKSHOP, name="workshop-toml"),
    path("workshop/replace/", file_views.replace, _OF_WORKSHOP, name="workshop-replace"),
    path("workshop/versions/", history_views.versions, _OF_WORKSHOP, name="workshop-versions"),
    path(
        "workshop/versions/<int:number>/",
        history_views.version,
        _OF_WORKSHOP,
        name="workshop-version",
    ),
]
