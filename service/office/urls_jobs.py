"""Addresses of work: jobs, the season board, parts, messages."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_jobs as views
from service.office import views_messages, views_season

urlpatterns: list[URLPattern] = [
    path("jobs/", views.job_list, name="job-list"),
    path("jobs/<uuid:job_id>/", views.job, name="job"),
    path("jobs/<uuid:job_id>/book/", views.job_book, name="job-book"),
    path("jobs/<uuid:job_id>/call-off/", views.job_call_off, name="job-call-off"),
    path("households/<uuid:site_id>/jobs/new/", views.job_new, name="job-new"),
    path("season/", views_season.season_board, name="season-board"),
    path("parts/", views_season.parts, name="parts"),
    path("messages/", views_messages.message_list, name="messages"),
    path("messages/<uuid:message_id>/retry/", views_messages.message_retry, name="message-retry"),
    path("messages/<uuid:message_id>/drop/", views_messages.message_drop, name="message-drop"),
]
