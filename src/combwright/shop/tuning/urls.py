"""The addresses of tuning."""

from django.urls import path

from combwright.shop.tuning import (
    jig_views,
    live_views,
    microphone_views,
    take_urls,
    together_views,
)

app_name = "tuning"
urlpatterns = [
    *take_urls.urlpatterns,
    path("", live_views.listed, name="list"),
    path("any/", live_views.free, name="free"),
    path("microphones/", microphone_views.listed, name="microphones"),
    path("microphones/<int:key>/", microphone_views.one, name="microphone"),
    path("microphones/<int:key>/breath/", microphone_views.breath, name="breath"),
    path("microphones/<int:key>/tone/", microphone_views.tone, name="tone"),
    path("readings/<int:key>/strike/", live_views.strike, name="strike"),
    path("samples/<int:number>/", jig_views.sample, name="sample"),
    path("samples/<int:number>/read/", jig_views.read, name="sample-read"),
    path("samples/<int:number>/means/", jig_views.take_means, name="sample-means"),
    path("sort/<path:code>/lay/", jig_views.lay, name="lay"),
    path("sort/<path:code>/", jig_views.sort, name="sort"),
    path("sorted/<int:key>/back/", jig_views.take_back, name="take-back"),
    path("<str:serial>/", live_views.one, name="one"),
    path("<str:serial>/together/", together_views.together, name="together"),
    path("<str:serial>/keep/", live_views.keep, name="keep"),
]
