"""Addresses of designs."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_design as views

urlpatterns: list[URLPattern] = [
    path("households/<uuid:site_id>/design/", views.design_new, name="design-new"),
    path("designs/<uuid:design_id>/", views.design, name="design"),
    path("trains/<uuid:train_id>/worksheet/", views.design_worksheet, name="design-worksheet"),
    path("trains/<uuid:train_id>/quote/", views.design_quote, name="design-quote"),
]
