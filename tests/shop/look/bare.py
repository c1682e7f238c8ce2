"""Addresses while the rooms are being built: only the page of parts."""

from django.urls import include, path

urlpatterns = [path("look/", include("combwright.shop.look.urls"))]
