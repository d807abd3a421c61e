"""Addresses of designs."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_compare, views_line, views_redesigns
from service.office import views_design as views

urlpatterns: list[URLPattern] = [
    path("households/<uuid:site_id>/design/", views.design_new, name="design-new"),
    path("designs/<uuid:design_id>/", views.design, name="design"),
    path("designs/<uuid:design_id>/begin/", views_line.design_begin, name="design-begin"),
    path("designs/<uuid:design_id>/again/", views_compare.design_again, name="design-again"),
    path("designs/<uuid:design_id>/why/", views_compare.design_why, name="design-why"),
    path("designs/<uuid:design_id>/against/<uuid:other_id>/", views_compare.design_against, name="design-against"),
    path("households/<uuid:site_id>/designs/", views_compare.design_list, name="design-list"),
    path("designs/<uuid:design_id>/clear/", views_line.design_clear, name="design-clear"),
    path("redesigns/", views_redesigns.redesigns, name="redesigns"),
    path("redesigns/<uuid:run_id>/", views_redesigns.redesign, name="redesign"),
    path("redesigns/<uuid:run_id>/stop/", views_redesigns.redesign_stop, name="redesign-stop"),
    path("trains/<uuid:train_id>/worksheet/", views.design_worksheet, name="design-worksheet"),
    path("trains/<uuid:train_id>/quote/", views.design_quote, name="design-quote"),
    path("trains/<uuid:train_id>/line/", views_line.design_line, name="design-line"),
    path("trains/<uuid:train_id>/line/find/", views_line.design_find, name="design-find"),
    path("trains/<uuid:train_id>/name/", views_line.design_name, name="design-name"),
    path("trains/<uuid:train_id>/delete/", views_line.design_delete, name="design-delete"),
    path("trains/<uuid:train_id>/back/", views_line.design_back, name="design-back"),
]
