"""The address of the day's page."""

from django.urls import path

from combwright.shop.today import views

app_name = "today"
urlpatterns = [path("", views.next_things, name="next")]
