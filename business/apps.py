from django.apps import AppConfig


class BusinessConfig(AppConfig):
    name = "business"

    def ready(self) -> None:
        from business.views import requests

        requests.listen()
