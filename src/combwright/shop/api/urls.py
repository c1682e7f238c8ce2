"""The addresses that other programs use, and the pages about them."""

from django.urls import URLPattern, include, path, re_path

from combwright.shop.api import hook_views, views
from combwright.shop.api.interface import api
from combwright.shop.people.door import own_door


def _operations() -> list[URLPattern]:
    """Return the operations' addresses; each of them asks for a token itself."""
    patterns, _app, _namespace = api.urls
    found = [each for each in patterns if isinstance(each, URLPattern) and each.name != "api-root"]
    for each in found:
        own_door(each.callback)
    return found


app_name = "api"
urlpatterns = [
    path("", views.home, name="home"),
    path("openapi.json", views.document, name="openapi"),
    path("problems/", views.all_problems, name="problems"),
    path("tokens/", views.tokens, name="tokens"),
    path("tokens/make/", views.make_token, name="make-token"),
    path("tokens/<int:number>/revoke/", views.revoke_token, name="revoke-token"),
    path("hooks/", hook_views.hooks, name="hooks"),
    path("hooks/make/", hook_views.make_hook, name="make-hook"),
    path("hooks/<int:number>/", hook_views.hook, name="hook"),
    path("hooks/<int:number>/secret/", hook_views.change_secret, name="hook-secret"),
    path("hooks/<int:number>/test/", hook_views.test, name="hook-test"),
    path("hooks/<int:number>/off/", hook_views.switch_off, name="hook-off"),
    path("v1/", include((_operations(), "v1"))),
    re_path(r"^v1(?:/.*)?$", views.nothing_there, name="nothing-there"),
]
