"""Template tags that draw: state marks, the navigation, and (in ``figures``) the water path and the charts."""

from __future__ import annotations

from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext, gettext_lazy

from sizing.drawing.marks import mark_svg
from sizing.drawing.values import StageState

register = template.Library()

OFFICE_NAV = (
    ("today", gettext_lazy("Today"), ("today",)),
    (
        "household-list",
        gettext_lazy("Households"),
        ("household", "intake", "water-test", "flow-test", "proposal", "design", "install"),
    ),
    ("quote-list", gettext_lazy("Quotes"), ("quote",)),
    ("season-board", gettext_lazy("Season board"), ("season", "job", "visit", "crew", "route")),
    ("parts", gettext_lazy("Parts"), ("part",)),
    ("messages", gettext_lazy("Messages"), ("message",)),
    ("catalogue", gettext_lazy("Catalogue"), ("catalogue", "product")),
    ("settings", gettext_lazy("Settings"), ("settings", "staff")),
)


@register.simple_tag
def state_mark(state: str, word: str = "") -> SafeString:
    """Mark and word of a state: ``{% state_mark "soon" %}``, or with its own word."""
    held = StageState(state)
    return format_html(
        '<span class="state {}">{}{}</span>', held.value, mark_safe(mark_svg(held)), word or held.word
    )


@register.simple_tag
def clears(done: int, needed: int = 2) -> SafeString:
    """Boxes for clear samples, filled as far as they are in, then the count in words."""
    done, needed = int(done or 0), int(needed or 2)
    boxes = format_html_join(
        "", "<i{}></i>", ((mark_safe(' class="done"') if k < done else "",) for k in range(needed))
    )
    count = gettext("%(done)d of %(needed)d") % {"done": done, "needed": needed}
    return format_html('<span class="clears" aria-hidden="true">{}</span> {}', boxes, count)


@register.inclusion_tag("parts/nav.html", takes_context=True)
def office_nav(context: dict[str, Any], current: str = "") -> dict[str, Any]:
    """The desk's navigation: the areas that have a page, the current one marked.

    ``current`` is the URL name of an area; left out it is read from the page's own URL name.
    """
    match = getattr(context.get("request"), "resolver_match", None)
    name = current or (match.url_name if match else "") or ""
    items = []
    for target, label, starts in OFFICE_NAV:
        try:
            address = reverse(target)
        except NoReverseMatch:
            continue
        items.append({"href": address, "label": label, "current": name.startswith(starts)})
    return {"items": items}
