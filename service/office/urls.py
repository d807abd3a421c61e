"""Addresses of the desk."""

from __future__ import annotations

from django.urls import URLPattern

from service.office import (
    urls_catalogue,
    urls_causes,
    urls_dealer,
    urls_design,
    urls_enquiries,
    urls_households,
    urls_jobs,
    urls_lab,
    urls_papers,
    urls_quotes,
    urls_reckon,
)

urlpatterns: list[URLPattern] = [
    *urls_households.urlpatterns,
    *urls_enquiries.urlpatterns,
    *urls_lab.urlpatterns,
    *urls_design.urlpatterns,
    *urls_quotes.urlpatterns,
    *urls_jobs.urlpatterns,
    *urls_papers.urlpatterns,
    *urls_catalogue.urlpatterns,
    *urls_dealer.urlpatterns,
    *urls_causes.urlpatterns,
    *urls_reckon.urlpatterns,
]
