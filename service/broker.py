"""How the web, worker and beat processes pass work to each other: Redis, or a folder when there is none.

The truth about what is due lives in the database; a message is only a wake-up call. Both brokers
may deliver a call twice (Redis) or lose one (folder, when a worker dies holding it), so every task
may run twice without harm and a sweep finds what was never woken.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

#: Seconds after which Redis hands an unacknowledged call to another worker.
VISIBILITY_SECONDS = 600
#: Seconds a task may run: asked to stop, then ended; below the visibility time, or a slow task runs twice.
SOFT_LIMIT_SECONDS = 240
HARD_LIMIT_SECONDS = 300


def broker_settings(redis_url: str, var: Path) -> dict[str, Any]:
    """Return the ``CELERY_...`` settings for this broker, creating the folders of the folder broker.

    :param redis_url: ``redis://`` or ``rediss://`` address, or an empty string for the folder broker.
    :param var: the state folder; the folder broker lives under ``var/queue``.
    :raises ValueError: when the address names another kind of broker.
    """
    settings: dict[str, Any] = {
        "CELERY_TASK_ACKS_LATE": True,
        "CELERY_TASK_REJECT_ON_WORKER_LOST": True,
        "CELERY_WORKER_PREFETCH_MULTIPLIER": 1,
        "CELERY_TASK_SOFT_TIME_LIMIT": SOFT_LIMIT_SECONDS,
        "CELERY_TASK_TIME_LIMIT": HARD_LIMIT_SECONDS,
        "CELERY_TASK_IGNORE_RESULT": True,
        "CELERY_TASK_SERIALIZER": "json",
        "CELERY_ACCEPT_CONTENT": ["json"],
        "CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP": True,
        "CELERY_TIMEZONE": "UTC",
    }
    if redis_url:
        return settings | _redis(redis_url)
    return settings | _folder(var)


def _redis(redis_url: str) -> dict[str, Any]:
    """Return the settings of the Redis broker.

    Kombu sweeps for abandoned calls every ``unacked_restore_interval * unacked_restore_throttle``
    seconds, 100 as shipped; 5 * 2 brings a killed worker's call back within ten seconds of its
    visibility time (measured with kombu 5.7).
    """
    if not redis_url.startswith(("redis://", "rediss://")):
        raise ValueError(f"REDIS_URL: {redis_url!r} is not a redis:// or rediss:// address")
    return {
        "CELERY_BROKER_URL": redis_url,
        "CELERY_BROKER_TRANSPORT_OPTIONS": {
            "visibility_timeout": VISIBILITY_SECONDS,
            "unacked_restore_interval": 5,
            "unacked_restore_throttle": 2,
        },
    }


def _folder(var: Path) -> dict[str, Any]:
    """Return the settings of the folder broker; remote control has no use there and leaves stray queues."""
    queue = var / "queue"
    folders = {name: queue / name for name in ("messages", "control")}
    for folder in folders.values():
        folder.mkdir(parents=True, exist_ok=True)
    return {
        "CELERY_BROKER_URL": "filesystem://",
        "CELERY_BROKER_TRANSPORT_OPTIONS": {
            "data_folder_in": str(folders["messages"]),
            "data_folder_out": str(folders["messages"]),
            "control_folder": str(folders["control"]),
            "polling_interval": 0.2,
        },
        "CELERY_WORKER_ENABLE_REMOTE_CONTROL": False,
    }
