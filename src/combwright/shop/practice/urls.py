"""The addresses of the practice shop."""

from django.urls import path

from combwright.shop.practice import views

app_name = "practice"
urlpatterns = [
    path("", views.home, name="home"),
    path("state/", views.state, name="state"),
    path("start/", views.start, name="start"),
    path("anew/", views.anew, name="anew"),
]
