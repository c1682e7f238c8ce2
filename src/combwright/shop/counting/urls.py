"""The addresses of counting rounds."""

from django.urls import path

from combwright.shop.counting import views

app_name = "counting"
urlpatterns = [
    path("", views.rounds, name="rounds"),
    path("<int:number>/", views.one, name="round"),
    path("<int:number>/next/", views.next_bin, name="next"),
    path("<int:number>/bin/<int:place>/", views.one_bin, name="bin"),
    path("<int:number>/bin/<int:place>/skip/", views.skip, name="skip"),
    path("<int:number>/skipped/", views.unskip, name="unskip"),
    path("<int:number>/book/", views.book, name="book"),
    path("<int:number>/give-up/", views.give_up, name="give-up"),
    path("<int:number>/again/", views.again, name="again"),
    path("<int:number>/sheet/", views.sheet, name="sheet"),
]
