"""The addresses of instruments."""

from django.urls import path

from combwright.shop.register import views

app_name = "register"
urlpatterns = [
    path("", views.listed, name="list"),
    path("batch/<path:code>/", views.batch, name="batch"),
    path("<str:serial>/", views.one, name="one"),
    path("<str:serial>/certificate.pdf", views.certificate, name="certificate"),
]
