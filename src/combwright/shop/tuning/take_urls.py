"""The addresses of takes; those of tuning hold them."""

from django.urls import path

from combwright.shop.tuning import against_views, blind_views, take_views

urlpatterns = [
    path("<str:serial>/takes/", take_views.take_in, name="take-in"),
    path("takes/<int:key>/", take_views.one, name="take"),
    path("takes/<int:key>/state/", take_views.state, name="take-state"),
    path("takes/<int:key>/sound.flac", take_views.sound, name="take-sound"),
    path("takes/<int:key>/again/", take_views.again, name="take-again"),
    path("takes/<int:key>/strike/", take_views.strike, name="take-strike"),
    path("takes/<int:key>/against/", against_views.choose, name="take-choose"),
    path("takes/<int:key>/against/<int:other>/", against_views.against, name="against"),
    path("takes/<int:key>/against/<int:other>/state/", against_views.state, name="against-state"),
    path("takes/<int:key>/against/<int:other>/sound/", against_views.compare, name="compare"),
    path("blind/<int:a>/<int:b>/", blind_views.begin, name="blind-begin"),
    path("blind/<int:key>/", blind_views.listen, name="blind"),
    path("blind/<int:key>/<int:number>/<str:which>.wav", blind_views.sound, name="blind-sound"),
    path("blind/<int:key>/answer/", blind_views.answer, name="blind-answer"),
]
