"""Addresses of papers."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.documents import views

urlpatterns: list[URLPattern] = [path("<uuid:paper_id>.pdf", views.paper, name="paper")]
