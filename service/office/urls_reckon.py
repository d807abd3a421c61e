"""Addresses of the small calculations."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_reckon as views
from service.office.reckoning import CALCULATORS

urlpatterns: list[URLPattern] = [
    path("reckon/", views.reckon, name="reckon"),
    *(
        path(f"reckon/{calculator.name}/", views.reckon_page, {"name": calculator.name}, f"reckon-{calculator.name}")
        for calculator in CALCULATORS
    ),
]
