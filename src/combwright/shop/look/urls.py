"""The address of the page that shows all parts."""

from django.urls import path

from combwright.shop.look import views

app_name = "look"
urlpatterns = [path("parts/", views.parts, name="parts")]
