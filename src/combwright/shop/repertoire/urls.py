"""The addresses of the room."""

from django.urls import path

from combwright.shop.repertoire import book_views, intake_views, tab_views, views

app_name = "repertoire"
urlpatterns = [
    path("", views.listed, name="list"),
    path("new/", views.new, name="new"),
    path("<int:key>/", views.one, name="one"),
    path("<int:key>/change/", views.change, name="change"),
    path("<int:key>/throw-away/", views.throw_away, name="throw-away"),
    path("<int:key>/remove/", views.remove, name="remove"),
    path("<int:key>/load/", intake_views.load, name="load"),
    path("<int:key>/books/", book_views.books, name="books"),
    path("<int:key>/books/make/", book_views.make, name="book-make"),
    path("books/<int:key>/", book_views.one, name="book"),
    path("books/<int:key>/state/", book_views.state, name="book-state"),
    path("books/<int:key>/stop/", book_views.stop, name="book-stop"),
    path("books/<int:key>/again/", book_views.again, name="book-again"),
    path("books/<int:key>/tab.pdf", book_views.pdf, name="book-pdf"),
    path("files/<int:key>/", intake_views.one, name="intake"),
    path("files/<int:key>/state/", intake_views.state, name="intake-state"),
    path("files/<int:key>/stop/", intake_views.stop, name="intake-stop"),
    path("files/<int:key>/again/", intake_views.again, name="intake-again"),
    path("files/<int:key>/throw-away/", intake_views.throw_away, name="intake-throw-away"),
    path("tune/<int:key>/", tab_views.tab, name="tab"),
    path("tune/<int:key>/staff.svg", tab_views.staff, name="staff"),
    path("tune/<int:key>/tab.txt", tab_views.tab_txt, name="tab-txt"),
    path("tune/<int:key>/tab.json", tab_views.tab_json, name="tab-json"),
    path("tune/<int:key>/tab.pdf", tab_views.tab_pdf, name="tab-pdf"),
    path("tune/<int:key>/change/", views.change_tune, name="tune-change"),
]
