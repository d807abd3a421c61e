"""Addresses of papers at the desk."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_papers as views

urlpatterns: list[URLPattern] = [
    path("households/<uuid:site_id>/papers/", views.household_papers, name="household-papers"),
    path("households/<uuid:site_id>/papers/make/", views.paper_make, name="paper-make"),
]
