"""The running service and the years after the sale."""

from service.celery import app as celery_app

__all__ = ["celery_app"]
