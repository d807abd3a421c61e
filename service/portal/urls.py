"""Addresses of the household's own pages."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.portal import views, views_asked

urlpatterns: list[URLPattern] = [
    path("", views.home, name="portal-home"),
    path("link/<str:token>/", views.link, name="portal-link"),
    path("asked/", views_asked.begin, name="asked"),
    path("asked/link/<str:token>/", views_asked.link, name="asked-link"),
    path("asked/photos/<uuid:photo_id>/", views_asked.photo, name="asked-photo"),
    path("asked/photos/<uuid:photo_id>/remove/", views_asked.photo_remove, name="asked-photo-remove"),
    path("asked/<slug:slug>/", views_asked.step, name="asked-step"),
    path("calendar/<str:token>.ics", views.calendar, name="portal-calendar"),
    path("quotes/<uuid:quote_id>/", views.quote, name="portal-quote"),
    path("reports/<uuid:report_id>/", views.report, name="portal-report"),
    path("<uuid:site_id>/", views.site_page, name="portal-site"),
    path("<uuid:site_id>/papers/", views.papers, name="portal-papers"),
    path("<uuid:site_id>/ask/", views.ask, name="portal-ask"),
    path("<uuid:site_id>/season/", views.season, name="portal-season"),
    path("<uuid:site_id>/messages/", views.messages_page, name="portal-messages"),
]
