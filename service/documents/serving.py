"""Handing a kept PDF to a browser that may see it."""

from __future__ import annotations

from django.db.models.fields.files import FieldFile
from django.http import HttpResponse
from django.utils.text import slugify


def pdf_response(file: FieldFile, name: str, *, save: bool) -> HttpResponse:
    """The PDF under a name made of ``name``, kept nowhere on the way; ``save`` offers it as a file.

    The caller has looked whether whoever asks may see it.
    """
    with file.open("rb") as handle:
        response = HttpResponse(handle.read(), content_type="application/pdf")
    how = "attachment" if save else "inline"
    response.headers["Content-Disposition"] = f'{how}; filename="{slugify(name)}.pdf"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "private, no-store"
    return response
