"""What every page's frame needs: who acts, for which dealer."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest


def surroundings(request: HttpRequest) -> dict[str, Any]:
    """``actor`` and ``dealer`` (both ``None`` before sign-in)."""
    actor = getattr(request, "actor", None)
    return {"actor": actor, "dealer": actor.dealer if actor else None}
