"""App registration."""

from django.apps import AppConfig


class SizingConfig(AppConfig):
    """The sizing app."""

    name = "sizing"
    default_auto_field = "django.db.models.BigAutoField"
