"""The addresses of the bench."""

from django.urls import path

from combwright.shop.bench import build_views, list_views, seat_views, send_views, walk_views

app_name = "bench"
urlpatterns = [
    path("", list_views.listed, name="list"),
    path("begin/", list_views.begin, name="begin"),
    path("to-the-bench/", list_views.to_the_bench, name="to-the-bench"),
    path("walk/", walk_views.walk, name="walk"),
    path("walk/scan/", walk_views.scan, name="scan"),
    path("plates/<int:key>/pick/", walk_views.pick, name="pick"),
    path("plates/<int:key>/unpick/", walk_views.unpick, name="unpick"),
    path("plates/<int:key>/not-there/", walk_views.not_there, name="not-there"),
    path("plates/<int:key>/instead/", walk_views.instead, name="instead"),
    path("plates/<int:key>/seat/", seat_views.fit, name="fit"),
    path("plates/<int:key>/take-out/", seat_views.take_out, name="take-out"),
    path("plates/<int:key>/broke/", seat_views.broke, name="broke"),
    path("plates/<int:key>/filed/", seat_views.filed, name="filed"),
    path("orders/<int:key>/", build_views.build, name="build"),
    path("orders/<int:key>/put-back/", walk_views.put_back, name="put-back"),
    path("orders/<int:key>/<int:row>/<int:copy>/", seat_views.seat, name="seat"),
    path("orders/<int:key>/finish/", build_views.finish, name="finish"),
    path("orders/<int:key>/again/", build_views.reopen, name="reopen"),
    path("orders/<int:key>/send/", send_views.send, name="send"),
    path("orders/<int:key>/packing-slip.pdf", send_views.slip, name="slip"),
    path("orders/<int:key>/take-apart/", send_views.take_apart, name="take-apart"),
    path("orders/<int:key>/cancel/", send_views.cancel, name="cancel"),
]
