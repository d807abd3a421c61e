"""Addresses of the tablet."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.field import views

urlpatterns: list[URLPattern] = [
    path("", views.today, name="field-today"),
    path("jobs/<uuid:job_id>/", views.job, name="field-job"),
    path("jobs/<uuid:job_id>/start/", views.start, name="field-start"),
    path("jobs/<uuid:job_id>/finish/", views.finish, name="field-finish"),
    path("tasks/<uuid:task_id>/", views.task, name="field-task"),
    path("tasks/<uuid:task_id>/again/", views.reopen, name="field-reopen"),
    path("tasks/<uuid:task_id>/flow/", views.flow, name="field-flow"),
]
