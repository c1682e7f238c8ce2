"""Every room's addresses."""

from django.urls import include, path
from django.views.generic import RedirectView

urlpatterns = [
    path("", RedirectView.as_view(pattern_name="today:next"), name="home"),
    path("people/", include("combwright.shop.people.urls")),
    path("jobs/", include("combwright.shop.jobs.urls")),
    path("designs/", include("combwright.shop.designs.urls")),
    path("rack/", include("combwright.shop.rack.urls")),
    path("counting/", include("combwright.shop.counting.urls")),
    path("arrivals/", include("combwright.shop.arrivals.urls")),
    path("papers/", include("combwright.shop.papers.urls")),
    path("orders/", include("combwright.shop.orders.urls")),
    path("plans/", include("combwright.shop.plans.urls")),
    path("instruments/", include("combwright.shop.register.urls")),
    path("bench/", include("combwright.shop.bench.urls")),
    path("tuning/", include("combwright.shop.tuning.urls")),
    path("tunes/", include("combwright.shop.repertoire.urls")),
    path("choosing/", include("combwright.shop.choosing.urls")),
    path("today/", include("combwright.shop.today.urls")),
    path("backups/", include("combwright.shop.backups.urls")),
    path("practice/", include("combwright.shop.practice.urls")),
    path("api/", include("combwright.shop.api.urls")),
    path("look/", include("combwright.shop.look.urls")),
]
