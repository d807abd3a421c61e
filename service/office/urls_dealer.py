"""Addresses of the dealer's own pages."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_dealer as views

urlpatterns: list[URLPattern] = [
    path("settings/", views.settings, name="settings"),
    path("staff/", views.staff, name="staff"),
    path("staff/<uuid:staff_id>/", views.staff_member, name="staff-member"),
]
