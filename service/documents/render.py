"""HTML to PDF: tagged, closed to the outside, the same bytes for the same words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ImproperlyConfigured

APT_LINE = (
    "apt-get install -y --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 "
    "libfontconfig1 fonts-dejavu-core"
)
MOST_HTML_BYTES = 4_000_000


class PaperTooLarge(ValueError):
    """More text than any paper of ours has: refused before rendering."""


@dataclass(frozen=True)
class Pdf:
    """A rendered paper."""

    data: bytes
    pages: int


def _weasyprint() -> Any:
    """WeasyPrint, or a plain message naming the system packages it needs."""
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise ImproperlyConfigured(
            f"Papers need system libraries that are missing ({error}). Run: {APT_LINE}"
        ) from error
    return weasyprint


def render_pdf(html: str) -> Pdf:
    """Render one paper as PDF/UA. Nothing is fetched: only ``data:`` addresses are followed.

    Raises ``PaperTooLarge`` over 4 MB of HTML and ``ImproperlyConfigured`` where system libraries miss.
    """
    size = len(html.encode())
    if size > MOST_HTML_BYTES:
        raise PaperTooLarge(f"paper is {size} bytes of text, accepted is at most {MOST_HTML_BYTES}")
    weasyprint = _weasyprint()
    from weasyprint.urls import URLFetcher

    fetcher = URLFetcher(allowed_protocols=("data",))
    document = weasyprint.HTML(string=html, base_url="", url_fetcher=fetcher).render()
    data = document.write_pdf(pdf_variant="pdf/ua-1")
    return Pdf(data=bytes(data), pages=len(document.pages))
