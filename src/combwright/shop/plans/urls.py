"""The addresses of plans, and of the plates set aside for one order."""

from django.urls import path

from combwright.shop.plans import order_views, plan_views, views

app_name = "plans"
urlpatterns = [
    path("", views.listed, name="list"),
    path("start/", views.start, name="start"),
    path("what-if/", views.what_if, name="what-if"),
    path("order/<path:number>/", order_views.one, name="order"),
    path("give-back/<path:number>/", order_views.give_back, name="give-back"),
    path("plate/<int:key>/pin/", order_views.pin, name="pin"),
    path("<int:number>/", plan_views.one, name="one"),
    path("<int:number>/orders/", plan_views.orders, name="orders"),
    path("<int:number>/plates/", plan_views.plates, name="plates"),
    path("<int:number>/shortages/", plan_views.shortages, name="shortages"),
    path("<int:number>/set-aside/", plan_views.set_aside, name="set-aside"),
    path("<int:number>/undo/", plan_views.undo, name="undo"),
]
