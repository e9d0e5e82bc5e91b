"""Every address of the program; each room keeps its own list."""

from django.urls import include, path

urlpatterns = [
    path("", include("scheduling.urls")),
    path("", include("gardens.urls")),
    path("", include("business.urls")),
]
