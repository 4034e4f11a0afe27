"""Which app answers which address. The apps are named as strings: nothing here imports them."""

from django.urls import include, path

urlpatterns = [
    path("", include("shared.pages")),
    path("", include("inventory.urls")),
    path("", include("jobs.urls")),
]
