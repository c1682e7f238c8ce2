"""The addresses of orders, wishes and customers; the order's own comes last, as it takes all."""

from django.urls import path

from combwright.shop.orders import (
    act_views,
    compare_views,
    customer_views,
    file_views,
    intake_views,
    nickname_views,
    row_views,
    share_views,
    views,
    wish_views,
)

app_name = "orders"
urlpatterns = [
    path("", views.listed, name="list"),
    path("new/", views.new, name="new"),
    path("compare/", compare_views.compare, name="compare"),
    path("file/orders.csv", file_views.orders_csv, name="csv"),
    path("file/orders.zip", file_views.orders_zip, name="zip"),
    path("file/in/", intake_views.intake, name="intake"),
    path("file/in/<int:key>/", intake_views.one, name="intake-one"),
    path("customers/", customer_views.everybody, name="customers"),
    path("customers/new/", customer_views.new, name="customer-new"),
    path("customers/<int:key>/", customer_views.one, name="customer"),
    path("customers/<int:key>/change/", customer_views.change, name="customer-change"),
    path("customers/<int:key>/data.json", customer_views.data, name="customer-data"),
    path("customers/<int:key>/erase/", customer_views.erase, name="customer-erase"),
    path("nicknames/", nickname_views.listed, name="nicknames"),
    path("nicknames/<int:key>/remove/", nickname_views.remove, name="nickname-remove"),
    path("shared/", share_views.shared, name="shared"),
    path("shares/<int:key>/withdraw/", share_views.withdraw, name="share-withdraw"),
    path("share/<path:number>/", share_views.share, name="share"),
    path("rows/<int:key>/", row_views.change, name="row"),
    path("rows/<int:key>/remove/", row_views.remove, name="row-remove"),
    path("row/<path:number>/", row_views.add, name="row-new"),
    path("change/<path:number>/", act_views.change, name="change"),
    path("open/<path:number>/", act_views.open_it, name="open"),
    path("draft/<path:number>/", act_views.draft, name="draft"),
    path("copy/<path:number>/", act_views.copy, name="copy"),
    path("split/<path:number>/", act_views.split, name="split"),
    path("wish/<int:key>/", wish_views.wish, name="wish"),
    path("wish/new/<path:number>/", wish_views.new, name="wish-new"),
    path("<path:number>/", views.one, name="one"),
]
