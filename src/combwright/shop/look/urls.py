"""The addresses of the house's page and of the page that shows all parts."""

from django.urls import path

from combwright.shop.look import views

app_name = "look"
urlpatterns = [
    path("house/", views.house, name="house"),
    path("parts/", views.parts, name="parts"),
]
