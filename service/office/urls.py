"""Addresses of the desk."""

from __future__ import annotations

from django.urls import URLPattern

from service.office import urls_design

urlpatterns: list[URLPattern] = [
    *urls_design.urlpatterns,
]
