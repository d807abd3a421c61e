"""Every address of the product."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

from service.office.views_home import health, home
from service.reminders.views import unsubscribe

urlpatterns: list[URLPattern | URLResolver] = [
    path("", home, name="home"),
    path("health/", health, name="health"),
    path("account/", include("allauth.urls")),
    path("office/", include("service.office.urls")),
    path("field/", include("service.field.urls")),
    path("home/", include("service.portal.urls")),
    path("unsubscribe/<str:token>/", unsubscribe, name="unsubscribe"),
    path("papers/", include("service.documents.urls")),
    path("api/v1/", include("service.api.urls")),
]
