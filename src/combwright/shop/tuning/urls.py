"""The addresses of tuning."""

app_name = "tuning"
urlpatterns = []
