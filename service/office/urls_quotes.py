"""Addresses of quotes."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_quotes as views

urlpatterns: list[URLPattern] = [
    path("quotes/", views.quote_list, name="quote-list"),
    path("quotes/<uuid:quote_id>/", views.quote, name="quote"),
    path("quotes/<uuid:quote_id>/edit/", views.quote_edit, name="quote-edit"),
    path("quotes/<uuid:quote_id>/lines/new/", views.quote_line, name="quote-line-new"),
    path("quotes/<uuid:quote_id>/lines/<uuid:line_id>/", views.quote_line, name="quote-line"),
    path("quotes/<uuid:quote_id>/lines/<uuid:line_id>/remove/", views.quote_line_remove, name="quote-line-remove"),
    path("quotes/<uuid:quote_id>/issue/", views.quote_issue, name="quote-issue"),
    path("quotes/<uuid:quote_id>/revise/", views.quote_revise, name="quote-revise"),
]
