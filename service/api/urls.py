"""Addresses of the API."""

from __future__ import annotations

from django.urls import URLPattern, path

from service.api import views_designs as designs
from service.api import views_evidence as evidence
from service.api import views_households as households
from service.api import views_quotes as quotes
from service.api import views_work as work
from service.api.views_schema import SchemaView

urlpatterns: list[URLPattern] = [
    path("schema/", SchemaView.as_view(), name="api-schema"),
    path("households/", households.HouseholdList.as_view(), name="api-households"),
    path("households/<uuid:site_id>/", households.Household.as_view(), name="api-household"),
    path("households/<uuid:site_id>/limits/", households.Limits.as_view(), name="api-limits"),
    path("households/<uuid:site_id>/water-path/", households.Path.as_view(), name="api-water-path"),
    path("households/<uuid:site_id>/water-tests/", evidence.WaterTests.as_view(), name="api-water-tests"),
    path("households/<uuid:site_id>/flow-tests/", evidence.FlowTests.as_view(), name="api-flow-tests"),
    path("households/<uuid:site_id>/symptoms/", evidence.Symptoms.as_view(), name="api-symptoms"),
    path("households/<uuid:site_id>/designs/", designs.Designs.as_view(), name="api-designs"),
    path("designs/<uuid:design_id>/", designs.Design.as_view(), name="api-design"),
    path("trains/<uuid:train_id>/worksheet/", designs.TrainWorksheet.as_view(), name="api-worksheet"),
    path("quotes/", quotes.QuoteList.as_view(), name="api-quotes"),
    path("quotes/<uuid:quote_id>/", quotes.QuoteDetail.as_view(), name="api-quote"),
    path("jobs/", work.JobList.as_view(), name="api-jobs"),
    path("jobs/<uuid:job_id>/", work.JobDetail.as_view(), name="api-job"),
    path("jobs/<uuid:job_id>/start/", work.StartJob.as_view(), name="api-job-start"),
    path("jobs/<uuid:job_id>/finish/", work.FinishJob.as_view(), name="api-job-finish"),
    path("tasks/<uuid:task_id>/", work.Task.as_view(), name="api-task"),
    path("due-visits/", work.DueVisits.as_view(), name="api-due-visits"),
]
