"""The addresses of the room."""

from django.urls import URLPattern

app_name = "choosing"
urlpatterns: list[URLPattern] = []
