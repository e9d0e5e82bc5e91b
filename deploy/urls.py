"""Every address of the program; each room keeps its own list."""

from django.urls import include, path

from deploy import health, metrics

urlpatterns = [
    path("healthz", health.health, name="health"),
    path("readyz", health.ready, name="ready"),
    path("metrics", metrics.metrics, name="metrics"),
    path("", include("scheduling.urls")),
    path("", include("gardens.urls")),
    path("", include("business.urls")),
]

handler500 = "deploy.outages.server_error"
