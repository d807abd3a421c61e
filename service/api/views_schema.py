"""The schema of the API."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.views import SpectacularAPIView

from service.api.base import ApiView


class SessionScheme(OpenApiAuthenticationExtension):
    """How the schema describes signing in: the session of the pages."""

    target_class = "service.api.base.Session"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """A cookie."""
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


class SchemaView(ApiView, SpectacularAPIView):
    """OpenAPI 3, as YAML or (``Accept`` or ``?format=json``) JSON, for whoever may read a household."""

    access = ("household.read", "household.read")
