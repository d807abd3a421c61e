"""Addresses of households and their evidence."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.office import views_evidence as evidence
from service.office import views_households as views
from service.office import views_today
from service.office import views_water as water

urlpatterns: list[URLPattern] = [
    path("", views_today.today, name="today"),
    path("households/", views.household_list, name="household-list"),
    path("households/search/", views.household_search, name="household-search"),
    path("households/new/", views.household_new, name="household-new"),
    path("households/<uuid:site_id>/", views.household, name="household"),
    path("households/<uuid:site_id>/edit/", views.household_edit, name="household-edit"),
    path("households/<uuid:site_id>/access/", views.household_access, name="household-access"),
    path("households/<uuid:site_id>/remedy/", views.remedy, name="remedy"),
    path("households/<uuid:site_id>/symptoms/", evidence.symptoms, name="symptoms"),
    path("symptoms/<uuid:observation_id>/gone/", evidence.symptom_gone, name="symptom-gone"),
    path("households/<uuid:site_id>/flow-test/", evidence.flow_test_new, name="flow-test-new"),
    path("flow-tests/<uuid:test_id>/", evidence.flow_test, name="flow-test"),
    path("households/<uuid:site_id>/water-test/", water.water_test_new, name="water-test-new"),
    path("households/<uuid:site_id>/water-test/check/", water.water_test_check, name="water-test-check"),
    path("water-tests/<uuid:test_id>/", water.water_test, name="water-test"),
    path("households/<uuid:site_id>/history/", water.history, name="history"),
]
