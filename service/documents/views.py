"""Downloading papers."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse

from customers.people.gate import acting, require
from service.documents.queries import paper_for
from service.documents.serving import pdf_response


@require("paper.download")
def paper(request: HttpRequest, paper_id: UUID) -> HttpResponse:
    """One paper as it was made, to look at or (with ``?save``) to keep."""
    row = paper_for(acting(request), paper_id)
    name = f"{row.get_kind_display()} {row.number} version {row.version} {row.site.name}"
    return pdf_response(row.file, name, save="save" in request.GET)
