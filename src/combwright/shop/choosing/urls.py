"""The addresses of the room."""

from django.urls import path

from combwright.shop.choosing import answer_views, views

app_name = "choosing"
urlpatterns = [
    path("<int:key>/match/", views.match, name="match"),
    path("<int:key>/swaps/", views.swaps, name="swaps"),
    path("answer/<int:number>/", answer_views.one, name="one"),
    path("answer/<int:number>/picture.svg", answer_views.picture, name="picture"),
    path("answer/<int:number>/state/", answer_views.state, name="state"),
    path("answer/<int:number>/stop/", answer_views.stop, name="stop"),
    path("answer/<int:number>/again/", answer_views.again, name="again"),
    path("answer/<int:number>/throw-away/", answer_views.throw_away, name="throw-away"),
    path("answer/<int:number>/wish/", answer_views.wish, name="wish"),
]
