"""The addresses of measured samples."""

from django.urls import path

from combwright.shop.arrivals import views

app_name = "arrivals"
urlpatterns = [
    path("", views.all_samples, name="list"),
    path("<int:number>/", views.one, name="one"),
    path("<int:number>/read/", views.read, name="read"),
    path("<int:number>/strike/", views.strike, name="strike"),
    path("<int:number>/give-up/", views.give_up, name="give-up"),
    path("<int:number>/offsets/", views.offsets, name="offsets"),
    path("measure/<path:code>/", views.start, name="start"),
]
