"""The rack's addresses."""

from django.urls import path

from combwright.shop.rack import exports, import_views, views

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
    path("imports/", import_views.imports, name="imports"),
    path("imports/<int:number>/", import_views.one, name="import"),
    path("imports/<int:number>/take-back/", import_views.take_back, name="import-back"),
    path("rack.csv", exports.rack_csv, name="csv"),
    path("rack.xlsx", exports.rack_xlsx, name="xlsx"),
]
