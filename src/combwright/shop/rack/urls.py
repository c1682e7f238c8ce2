"""The rack's addresses."""

from django.urls import path

from combwright.shop.rack import views

app_name = "rack"
urlpatterns = [
    path("", views.heat, name="heat"),
    path("bins/", views.bins, name="bins"),
    path("bins/new/", views.new_bin, name="new"),
    path("bin/<path:code>/receive/", views.receive, name="receive"),
    path("bin/<path:code>/count/", views.count, name="count"),
    path("bin/<path:code>/scrap/", views.scrap, name="scrap"),
    path("bin/<path:code>/put-back/", views.put_back, name="put-back"),
    path("bin/<path:code>/move/", views.move, name="move"),
    path("bin/<path:code>/", views.one, name="bin"),
    path("sets/receive/", views.receive_set, name="set"),
    path("batches/", views.batches, name="batches"),
    path("batches/<path:code>/", views.batch, name="batch"),
    path("ledger/", views.ledger, name="ledger"),
    path("ledger/<int:number>/", views.entry, name="entry"),
]
