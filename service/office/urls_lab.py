"""Addresses of laboratories, samplings and laboratories' files."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_lab_files as files
from service.office import views_laboratories as laboratories
from service.office import views_samplings as samplings

urlpatterns: list[URLPattern] = [
    path("samplings/", samplings.sampling_list, name="sampling-list"),
    path("households/<uuid:site_id>/sampling/", samplings.sampling_new, name="sampling-new"),
    path("households/<uuid:site_id>/sampling/check/", samplings.sampling_check, name="sampling-check"),
    path("samplings/<uuid:sampling_id>/", samplings.sampling, name="sampling"),
    path("samplings/<uuid:sampling_id>/change/", samplings.sampling_change, name="sampling-change"),
    path("samplings/<uuid:sampling_id>/drawn/", samplings.sampling_drawn, name="sampling-drawn"),
    path("samplings/<uuid:sampling_id>/received/", samplings.sampling_received, name="sampling-received"),
    path("samplings/<uuid:sampling_id>/chase/", samplings.sampling_chase, name="sampling-chase"),
    path("samplings/<uuid:sampling_id>/end/", samplings.sampling_end, name="sampling-end"),
    path("draws/<uuid:draw_id>/answer/", samplings.draw_answered, name="draw-answered"),
    path("laboratories/", laboratories.laboratory_list, name="laboratory-list"),
    path("laboratories/new/", laboratories.laboratory_new, name="laboratory-new"),
    path("laboratories/<uuid:laboratory_id>/", laboratories.laboratory, name="laboratory"),
    path("lab-files/", files.lab_file_list, name="lab-file-list"),
    path("lab-files/<uuid:file_id>/", files.lab_file, name="lab-file"),
    path("lab-files/<uuid:file_id>/answer/", files.lab_file_answer, name="lab-file-answer"),
    path("lab-files/<uuid:file_id>/drop/", files.lab_file_drop, name="lab-file-drop"),
    path("lab-files/<uuid:file_id>/back/", files.lab_file_back, name="lab-file-back"),
    path("lab-files/<uuid:file_id>/file/", files.lab_file_original, name="lab-file-original"),
    path("water-tests/<uuid:test_id>/report/", files.lab_report_attach, name="lab-report-attach"),
    path("lab-reports/<uuid:report_id>/", files.lab_report, name="lab-report"),
]
