from django.apps import AppConfig


class GardensConfig(AppConfig):
    name = "gardens"
