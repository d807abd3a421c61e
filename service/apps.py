"""App registration."""

from django.apps import AppConfig


class ServiceConfig(AppConfig):
    """The service app."""

    name = "service"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the system checks."""
        from service import checks  # noqa: F401
