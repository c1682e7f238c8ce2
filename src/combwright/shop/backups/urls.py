"""The addresses of backups."""

from django.urls import path

from combwright.shop.backups import views

app_name = "backups"
urlpatterns = [
    path("", views.listed, name="list"),
    path("now/", views.now, name="now"),
    path("plan/", views.change_plan, name="plan"),
    path("file/<str:name>/", views.download, name="file"),
    path("file/<str:name>/check/", views.check, name="check"),
]
