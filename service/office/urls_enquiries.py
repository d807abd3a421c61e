"""Addresses of enquiries."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_enquiries as views
from service.office import views_enquiry_moves as moves
from service.office import views_found as found

urlpatterns: list[URLPattern] = [
    path("enquiries/", views.enquiry_list, name="enquiry-list"),
    path("enquiries/new/", views.enquiry_new, name="enquiry-new"),
    path("enquiries/photos/<uuid:photo_id>/", moves.enquiry_photo, name="enquiry-photo"),
    path("enquiries/photos/<uuid:photo_id>/remove/", moves.enquiry_photo_remove, name="enquiry-photo-remove"),
    path("enquiries/<uuid:enquiry_id>/", views.enquiry, name="enquiry"),
    path("enquiries/<uuid:enquiry_id>/in-hand/", moves.enquiry_in_hand, name="enquiry-in-hand"),
    path("enquiries/<uuid:enquiry_id>/photos/", moves.enquiry_photo_add, name="enquiry-photo-add"),
    path("enquiries/<uuid:enquiry_id>/attach/", moves.enquiry_attach, name="enquiry-attach"),
    path("enquiries/<uuid:enquiry_id>/household/", moves.enquiry_household, name="enquiry-household"),
    path("enquiries/<uuid:enquiry_id>/mail/", moves.enquiry_mail, name="enquiry-mail"),
    path("enquiries/<uuid:enquiry_id>/stop/", moves.enquiry_stop, name="enquiry-stop"),
    path("enquiries/<uuid:enquiry_id>/close/", moves.enquiry_close, name="enquiry-close"),
    path("enquiries/<uuid:enquiry_id>/device/<slug:device>/", found.enquiry_device, name="enquiry-device"),
    path("stages/<uuid:stage_id>/found/", found.found_stage, name="found-stage"),
    path("enquiries/<uuid:enquiry_id>/cause/", moves.enquiry_cause, name="enquiry-cause"),
]
