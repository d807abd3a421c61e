"""Celery tasks, thin."""
