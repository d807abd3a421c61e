"""App registration."""

from django.apps import AppConfig


class CustomersConfig(AppConfig):
    """The customers app."""

    name = "customers"
    default_auto_field = "django.db.models.BigAutoField"
