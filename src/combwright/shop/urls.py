"""Every room's addresses."""

from django.urls import include, path
from django.views.generic import RedirectView

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="rack:heat"), name="home"),
    path("people/", include("combwright.shop.people.urls")),
    path("rack/", include("combwright.shop.rack.urls")),
    path("look/", include("combwright.shop.look.urls")),
]
