"""The addresses of tuning."""

from django.urls import path

from combwright.shop.tuning import live_views, microphone_views

app_name = "tuning"
urlpatterns = [
    path("", live_views.listed, name="list"),
    path("any/", live_views.free, name="free"),
    path("microphones/", microphone_views.listed, name="microphones"),
    path("microphones/<int:key>/", microphone_views.one, name="microphone"),
    path("microphones/<int:key>/breath/", microphone_views.breath, name="breath"),
    path("microphones/<int:key>/tone/", microphone_views.tone, name="tone"),
    path("readings/<int:key>/strike/", live_views.strike, name="strike"),
    path("<str:serial>/", live_views.one, name="one"),
    path("<str:serial>/keep/", live_views.keep, name="keep"),
]
