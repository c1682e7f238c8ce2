"""The addresses of people: the door, one's own page, and the owner's list."""

from django.urls import path

from combwright.shop.people import owner_views, trust_views, views

app_name = "people"
urlpatterns = [
    path("first/", views.first, name="first"),
    path("login/", views.log_in, name="login"),
    path("link/", views.link, name="link"),
    path("trust/", trust_views.trust, name="trust"),
    path("trust/combwright-authority.crt", trust_views.authority, name="authority"),
    path("logout/", views.log_out, name="logout"),
    path("me/", views.me, name="me"),
    path("me/leave/", views.leave, name="leave"),
    path("roles/", views.roles, name="roles"),
    path("", owner_views.everybody, name="list"),
    path("join/", owner_views.join, name="join"),
    path("<int:number>/", owner_views.one, name="one"),
    path("<int:number>/bar/", owner_views.bar, name="bar"),
    path("<int:number>/unbar/", owner_views.unbar, name="unbar"),
    path("<int:number>/link/", owner_views.invite_again, name="invite"),
]
