"""The rack's addresses."""

from django.urls import path

from combwright.shop.rack import (
    change_views,
    exports,
    import_views,
    item_views,
    opening_views,
    trace_views,
    views,
)

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
    path("bin/<path:code>/change/", change_views.change_bin, name="bin-change"),
    path("bin/<path:code>/hold/", change_views.hold_bin, name="bin-hold"),
    path("bin/<path:code>/", views.one, name="bin"),
    path("stores/", item_views.items, name="items"),
    path("stores/new/", item_views.new, name="item-new"),
    path("stores/of/<path:code>/receive/", item_views.receive, name="item-receive"),
    path("stores/of/<path:code>/count/", item_views.count, name="item-count"),
    path("stores/of/<path:code>/scrap/", item_views.scrap, name="item-scrap"),
    path("stores/of/<path:code>/open/", opening_views.open_one, name="item-open"),
    path("stores/of/<path:code>/change/", item_views.change, name="item-change"),
    path("stores/of/<path:code>/hold/", item_views.hold, name="item-hold"),
    path("stores/of/<path:code>/", item_views.one, name="item"),
    path("sets/receive/", views.receive_set, name="set"),
    path("batches/", views.batches, name="batches"),
    path("batches/<path:code>/", views.batch, name="batch"),
    path("trace/<path:code>/", trace_views.batch_trace, name="trace"),
    path("ledger/", views.ledger, name="ledger"),
    path("ledger/<int:number>/", views.entry, name="entry"),
    path("imports/", import_views.imports, name="imports"),
    path("imports/<int:number>/", import_views.one, name="import"),
    path("imports/<int:number>/take-back/", import_views.take_back, name="import-back"),
    path("export/", exports.export, name="export"),
    path("export/everything-<slug:ending>.zip", exports.everything, name="export-all"),
    path("export/<slug:name>.<slug:ending>", exports.table_file, name="export-table"),
    path("rack.csv", exports.table_file, {"name": "rack", "ending": "csv"}, name="csv"),
    path("rack.xlsx", exports.table_file, {"name": "rack", "ending": "xlsx"}, name="xlsx"),
]
