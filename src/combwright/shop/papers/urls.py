"""The addresses of labels and of scanning."""

from django.urls import path

from combwright.shop.papers import label_views, plate_views, scan_views, size_views

app_name = "papers"
urlpatterns = [
    path("labels/", label_views.labels, name="labels"),
    path("labels/print/", label_views.printed, name="print"),
    path("sizes/", size_views.sizes, name="sizes"),
    path("sizes/new/", size_views.new_size, name="size-new"),
    path("sizes/<int:number>/", size_views.size, name="size"),
    path("sizes/<int:number>/remove/", size_views.remove, name="size-remove"),
    path("sizes/<int:number>/test-sheet.pdf", size_views.fit_sheet, name="size-test"),
    path("scan/", scan_views.scan, name="scan"),
    path("scan/frame/", scan_views.frame, name="frame"),
    path("scan/said/", scan_views.said, name="said"),
    path("s/<str:letter>/<path:code>", scan_views.door, name="door"),
    path("plates/<str:code>/", plate_views.plate, name="plate"),
    path("plates/<str:code>/measure/", plate_views.measure, name="plate-measure"),
    path("plates/<str:code>/move/", plate_views.move, name="plate-move"),
    path("plates/<str:code>/scrap/", plate_views.scrap, name="plate-scrap"),
    path("bin-plates/<path:code>/", plate_views.new_plates, name="plates-new"),
]
