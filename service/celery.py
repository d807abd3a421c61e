"""The Celery application: ``celery -A service.celery worker`` and ``celery -A service.celery beat``."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "service.settings")

app = Celery("tarnhouse")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["service"], related_name="tasks")
