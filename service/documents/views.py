"""Downloading papers."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils.text import slugify

from customers.people.gate import acting, require
from service.documents.queries import paper_for


@require("paper.download")
def paper(request: HttpRequest, paper_id: UUID) -> HttpResponse:
    """One paper as it was made, to look at or (with ``?save``) to keep."""
    row = paper_for(acting(request), paper_id)
    with row.file.open("rb") as handle:
        response = HttpResponse(handle.read(), content_type="application/pdf")
    name = slugify(f"{row.get_kind_display()} {row.number} version {row.version} {row.site.name}")
    how = "attachment" if "save" in request.GET else "inline"
    response.headers["Content-Disposition"] = f'{how}; filename="{name}.pdf"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "private, no-store"
    return response
