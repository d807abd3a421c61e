"""Finds the pages a person can reach by following links, one of each shape."""

from __future__ import annotations

import re
from urllib.parse import urldefrag, urljoin, urlsplit

from playwright.sync_api import Page

_VARIABLE = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}|\d{4}-\d{2}-\d{2}|\d+")
#: Leaving would end the walk.
_NOT_FOLLOWED = re.compile(r"/account/logout/|^/static/")


def shape(path: str) -> str:
    """Return the path with what varies taken out: two households have pages of one shape."""
    return _VARIABLE.sub("*", path)


def reachable(page: Page, start: str, most: int = 80) -> list[str]:
    """Return one path of each shape reachable by links from ``start``; the page is left on the last of them.

    :raises AssertionError: when a link leads to an answer of 400 or more.
    """
    origin = urlsplit(page.url)
    waiting, seen, found, broken = [start], {shape(start)}, [], []
    while waiting and len(found) < most:
        path = waiting.pop(0)
        head = page.request.get(path)
        if head.status >= 400:
            broken.append(f"{path}: {head.status}")
        if head.status >= 400 or "text/html" not in head.headers.get("content-type", ""):
            continue
        page.goto(path)
        found.append(path)
        for link in page.eval_on_selector_all("a[href]", "links => links.map(link => link.getAttribute('href'))"):
            target = urlsplit(urldefrag(urljoin(page.url, link)).url)
            if target.netloc != origin.netloc or _NOT_FOLLOWED.search(target.path):
                continue
            if shape(target.path) not in seen:
                seen.add(shape(target.path))
                waiting.append(target.path)
    assert broken == [], f"links that lead nowhere, from {start}"
    return found
