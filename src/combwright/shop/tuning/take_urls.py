"""The addresses of takes; those of tuning hold them."""

from django.urls import path

from combwright.shop.tuning import take_views

urlpatterns = [
    path("<str:serial>/takes/", take_views.take_in, name="take-in"),
    path("takes/<int:key>/", take_views.one, name="take"),
    path("takes/<int:key>/state/", take_views.state, name="take-state"),
    path("takes/<int:key>/sound.flac", take_views.sound, name="take-sound"),
    path("takes/<int:key>/again/", take_views.again, name="take-again"),
    path("takes/<int:key>/strike/", take_views.strike, name="take-strike"),
]
