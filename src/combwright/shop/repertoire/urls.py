"""The addresses of the room."""

from django.urls import URLPattern

app_name = "repertoire"
urlpatterns: list[URLPattern] = []
