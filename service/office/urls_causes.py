"""Addresses of the tables of causes."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_causes as views

urlpatterns: list[URLPattern] = [
    path("causes/", views.causes, name="causes"),
    path("causes/complaint/", views.complaint, name="causes-complaint"),
    path("causes/cause/", views.cause, name="causes-cause"),
    path("causes/questions/", views.questions, name="causes-questions"),
    path("causes/devices/", views.devices, name="causes-devices"),
    path("causes/device/", views.device, name="causes-device"),
    path("causes/own/", views.own, name="causes-own"),
    path("causes/record/", views.record, name="causes-record"),
    path("causes/record/<uuid:correction_id>/back/", views.undo, name="causes-undo"),
    path("causes/record/<uuid:correction_id>/again/", views.again, name="causes-again"),
    path("households/<uuid:site_id>/cause/", views.household_cause, name="household-cause"),
]
