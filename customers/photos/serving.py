"""Handing a kept photograph to a browser that may see it."""

from __future__ import annotations

from django.http import HttpResponse

from customers.photos.models import KeptPhoto


def photo_response(photo: KeptPhoto, *, small: bool = False, save: bool = False) -> HttpResponse:
    """The picture, in its kept or its small size, under a name of our own; ``save`` offers it as a file.

    The caller has looked whether whoever asks may see it.
    """
    held = photo.small if small else photo.file
    with held.open("rb") as handle:
        response = HttpResponse(handle.read(), content_type="image/jpeg")
    how = "attachment" if save else "inline"
    response.headers["Content-Disposition"] = f'{how}; filename="photo-{photo.public_id.hex[:8]}.jpg"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    response.headers["Cache-Control"] = "private, max-age=600"
    return response
