"""Holding back what comes too often from one place."""

from __future__ import annotations

from django.core.cache import cache


def within(key: str, *, most: int, seconds: int) -> bool:
    """Whether this is at most the ``most``-th time of ``key`` in the window of ``seconds`` that its first began."""
    name = f"throttle:{key}"
    if cache.add(name, 1, seconds):
        return True
    try:
        return int(cache.incr(name)) <= most
    except ValueError:  # the window closed between the two
        return bool(cache.add(name, 1, seconds))
