"""The service's own Celery application with a slow task and a short visibility time: a worker to kill."""

from __future__ import annotations

import os
import time
from pathlib import Path

from service.celery import app

app.conf.broker_transport_options = app.conf.broker_transport_options | {"visibility_timeout": 4}


@app.task(name="probe.slow")
def slow(note: str, seconds: float) -> None:
    """Write a line when begun and another when done."""
    with Path(note).open("a") as lines:
        lines.write(f"begun {os.getpid()}\n")
    time.sleep(seconds)
    with Path(note).open("a") as lines:
        lines.write("done\n")
