"""Template tags that draw: state marks, navigation, the water path, the charts, and values with their unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import template
from django.contrib.humanize.templatetags.humanize import intcomma
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext, gettext_lazy

from sizing.drawing.bars import draw_costs, draw_life, draw_margins, draw_odds, odds_words
from sizing.drawing.chart_values import CostBar, MarginLine, PressureProfile
from sizing.drawing.charts import draw_pressure
from sizing.drawing.drawn import draw_path
from sizing.drawing.listed import ListItem, path_list
from sizing.drawing.marks import mark_svg
from sizing.drawing.papers import svg_style
from sizing.drawing.speech import speaking
from sizing.drawing.timeline import Timeline, draw_timeline
from sizing.drawing.values import StageState, WaterPath
from sizing.engine.display import show, to_display

register = template.Library()

#: Address, label, the URL names that belong to the area, and what one must be allowed to do to be shown it.
OFFICE_NAV = (
    ("today", gettext_lazy("Today"), ("today",), "household.list"),
    (
        "household-list",
        gettext_lazy("Households"),
        (
            "household",
            "water-test",
            "flow-test",
            "proposal",
            "design",
            "redesign",
            "install",
            "found-stage",
            "history",
            "symptom",
            "remedy",
            "paper",
        ),
        "household.list",
    ),
    ("enquiry-list", gettext_lazy("Enquiries"), ("enquiry",), "enquiry.read"),
    ("sampling-list", gettext_lazy("Samples"), ("sampling", "laborator", "lab-file"), "sampling.write"),
    ("quote-list", gettext_lazy("Quotes"), ("quote",), "quote.read"),
    ("season-board", gettext_lazy("Season board"), ("season", "job", "visit", "crew", "route"), "job.read"),
    ("parts", gettext_lazy("Parts"), ("part",), "job.read"),
    ("messages", gettext_lazy("Messages"), ("message",), "message.read"),
    ("catalogue", gettext_lazy("Catalogue"), ("catalogue", "product"), "catalogue.read"),
    ("reckon", gettext_lazy("Reckoning"), ("reckon",), "household.list"),
    ("causes", gettext_lazy("Causes"), ("causes",), "causes.read"),
    ("settings", gettext_lazy("Settings"), ("settings", "staff"), "dealer.write"),
)


@register.simple_tag
def state_mark(state: str, word: str = "") -> SafeString:
    """Mark and word of a state: ``{% state_mark "soon" %}``, or with its own word."""
    held = StageState(state)
    mark = mark_safe(mark_svg(held))
    return format_html('<span class="state {}">{}{}</span>', held.value, mark, word or gettext(str(held.word)))


@register.simple_tag
def clears(done: int, needed: int = 2) -> SafeString:
    """Boxes for clear samples, filled as far as they are in, then the count in words."""
    done, needed = int(done or 0), int(needed or 2)
    filled = (mark_safe(' class="done"') if k < done else "" for k in range(needed))
    boxes = format_html_join("", "<i{}></i>", ((mark,) for mark in filled))
    count = gettext("%(done)d of %(needed)d") % {"done": done, "needed": needed}
    return format_html(
        '<span class="nowrap"><span class="clears" aria-hidden="true">{}</span> {}</span>', boxes, count
    )


@register.filter
def may(actor: Any, action: str) -> bool:
    """Whether the person who acts may do it: ``{% if actor|may:"household.list" %}``; nobody may nothing."""
    return actor is not None and bool(actor.may(action))


@register.inclusion_tag("parts/nav.html", takes_context=True)
def office_nav(context: dict[str, Any], current: str = "") -> dict[str, Any]:
    """The desk's navigation: the areas the person who acts may open, the current one marked.

    ``current`` is the URL name of an area; left out it is read from the page's own URL name.
    """
    match = getattr(context.get("request"), "resolver_match", None)
    name = current or (match.url_name if match else "") or ""
    actor = context.get("actor")
    items = []
    for target, label, starts, action in OFFICE_NAV:
        if not may(actor, action):
            continue
        try:
            address = reverse(target)
        except NoReverseMatch:
            continue
        items.append({"href": address, "label": label, "current": name.startswith(starts)})
    return {"items": items}


@register.simple_tag
def water_path(
    path: WaterPath,
    width: float = 1100,
    mode: str = "screen",
    ident: str = "",
    bypass: bool = False,
    shown: float | None = None,
) -> SafeString:
    """The drawing of a path: ``{% water_path path 1100 %}``, ``{% water_path path 254 mode="mini" ident="a" %}``."""
    with speaking(gettext):
        svg = draw_path(path, width, mode, bypass=bypass, ident=ident, shown=shown)  # type: ignore[arg-type]
    return mark_safe(svg)


@register.simple_tag
def path_items(path: WaterPath) -> list[ListItem]:
    """The path in words, one item per fact: ``{% path_items path as items %}``."""
    with speaking(gettext):
        return path_list(path)


@register.filter
def drawn(svg: str) -> SafeString:
    """SVG made by ``sizing.drawing`` (``ListItem.glyph``), let through unescaped."""
    return mark_safe(svg)


@register.simple_tag
def value(number: float | None, quantity: str, system: str = "metric", digits: int | None = None) -> SafeString:
    """A measured or calculated value in the reader's units, set as water is: ``{% value 23.4 "flow" system %}``."""
    if number is None:
        return format_html('<span class="quiet">{}</span>', gettext("not known"))
    return format_html('<em class="nowrap">{}</em>', show(float(number), quantity, system, digits))


@register.simple_tag
def span(low: float, high: float, quantity: str, system: str = "metric") -> SafeString:
    """Two values of one kind as whole numbers, the unit said once: "40 to 60 psi"."""
    (least, unit), (most, _unit) = (to_display(end, quantity, system) for end in (low, high))
    words = gettext("%(low)s to %(high)s %(unit)s") % {"low": f"{least:.0f}", "high": f"{most:.0f}", "unit": unit}
    return format_html('<em class="nowrap">{}</em>', words)


@register.simple_tag
def margin(
    lines: Sequence[MarginLine], ident: str, title: str = "", width: float = 252, paper: bool = False
) -> SafeString:
    """Margins as dimension lines."""
    with speaking(gettext):
        return mark_safe(draw_margins(title or gettext("Margins"), lines, ident, width, _style(paper)))


@register.simple_tag
def odds(share: float, ident: str, width: float = 252, paper: bool = False) -> SafeString:
    """Fifty dots, hollow where a plausible peak breaks a limit."""
    with speaking(gettext):
        return mark_safe(draw_odds(share, ident, width=width, style=_style(paper)))


@register.filter
def in_fifty(share: float) -> str:
    """The share in words: "48 in 50"."""
    with speaking(gettext):
        return odds_words(share)


@register.simple_tag
def cost_bars(
    bars: Sequence[CostBar], ident: str, title: str = "", symbol: str = "$", width: float = 850, paper: bool = False
) -> SafeString:
    """Whole-life cost of alternatives on one scale."""

    def money(amount: float) -> str:
        return f"{symbol}{intcomma(int(amount))}"

    with speaking(gettext):
        return mark_safe(draw_costs(title or gettext("Whole-life cost"), bars, ident, money, width, _style(paper)))


@register.simple_tag
def timeline(chart: Timeline, ident: str, width: float = 384, height: float = 190, paper: bool = False) -> SafeString:
    """Results of one parameter over time, by place, against their limits; put the table beside it."""
    with speaking(gettext):
        return mark_safe(draw_timeline(chart, ident, width, height, _style(paper)))


@register.simple_tag
def pressure_chart(chart: PressureProfile, ident: str, width: float = 725, paper: bool = False) -> SafeString:
    """Pressure along the path at one flow."""
    with speaking(gettext):
        return mark_safe(draw_pressure(chart, ident, width, style=_style(paper)))


@register.simple_tag
def life_bar(used: float, words: str, ident: str, paper: bool = False) -> SafeString:
    """How much of a part's life is used, with its words beside it."""
    bar = mark_safe(draw_life(max(float(used), 0.0), words, ident, _style(paper)))
    return format_html('<span class="lifeline">{} <span class="small quiet">{}</span></span>', bar, words)


def _style(paper: bool) -> str:
    return svg_style() if paper else ""
