"""The addresses of jobs."""

from django.urls import path

from combwright.shop.jobs import views

app_name = "jobs"
urlpatterns = [
    path("", views.listed, name="list"),
    path("<int:number>/", views.one, name="one"),
    path("<int:number>/state/", views.state, name="state"),
    path("<int:number>/stop/", views.stop, name="stop"),
]
