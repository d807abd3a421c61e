"""HTML to PDF: tagged, closed to the outside, the same bytes for the same words."""

from __future__ import annotations

import atexit
import os
import threading
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from sizing.drawing.papers import font_faces, sheet_rules

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


@dataclass(frozen=True)
class _Press:
    """What every paper of a thread shares: the loaded faces and the read rules."""

    fonts: Any
    sheets: tuple[Any, ...]


_own = threading.local()  # the text engine shares nothing between threads
_inherited: list[_Press] = []  # another process's: kept, since letting go would remove its font files


def _weasyprint() -> Any:
    """WeasyPrint, or a plain message naming the system packages it needs."""
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        raise ImproperlyConfigured(
            f"Papers need system libraries that are missing ({error}). Run: {APT_LINE}"
        ) from error
    return weasyprint


def _press() -> _Press:
    """The press of this thread. Loading the faces costs more than laying out a page, so it is done once."""
    process, held = getattr(_own, "press", (None, None))
    if held is not None and process == os.getpid():
        return held
    if held is not None:
        _inherited.append(held)
    weasyprint = _weasyprint()
    from weasyprint.text.fonts import FontConfiguration

    fonts, fetcher = FontConfiguration(), _closed()
    sheets = (font_faces(), sheet_rules())
    made = _Press(
        fonts, tuple(weasyprint.CSS(string=rules, font_config=fonts, url_fetcher=fetcher) for rules in sheets)
    )
    _own.press = (os.getpid(), made)
    return made


@atexit.register
def _put_down() -> None:
    """Let the faces go while the interpreter still stands, so that their files are removed."""
    process, _held = getattr(_own, "press", (None, None))
    if process == os.getpid():
        del _own.press


def _closed() -> Any:
    """A fetcher that follows ``data:`` addresses and nothing else."""
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols=("data",))


def render_pdf(html: str) -> Pdf:
    """Render one paper as PDF/UA. Nothing is fetched: only ``data:`` addresses are followed.

    Raises ``PaperTooLarge`` over 4 MB of HTML and ``ImproperlyConfigured`` where system libraries miss.
    """
    size = len(html.encode())
    if size > MOST_HTML_BYTES:
        raise PaperTooLarge(f"paper is {size} bytes of text, accepted is at most {MOST_HTML_BYTES}")
    weasyprint, press = _weasyprint(), _press()
    source = weasyprint.HTML(string=html, base_url="", url_fetcher=_closed())
    document = source.render(font_config=press.fonts, stylesheets=list(press.sheets), pdf_variant="pdf/ua-1")
    data = document.write_pdf(pdf_variant="pdf/ua-1")
    return Pdf(data=bytes(data), pages=len(document.pages))
