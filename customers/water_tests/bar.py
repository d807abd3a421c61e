"""The do-not-drink bar as every screen, paper and message words it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from customers.households.models import Site
from customers.water_tests.microbes import CLEARS_NEEDED
from customers.water_tests.models import DrinkNotice
from customers.water_tests.queries import open_notice


@dataclass(frozen=True)
class NoticeBar:
    """Context of ``parts/notice.html``. ``text`` says what was found; ``advice`` what to do meanwhile."""

    heading: str
    text: str
    advice: str
    stands: str
    clears: int
    clears_needed: int = CLEARS_NEEDED
    action: str = ""
    action_url: str = ""

    def acting(self, action: str, url: str) -> NoticeBar:
        """The same bar with a button."""
        return replace(self, action=action, action_url=url)


def notice_bar(site: Site) -> NoticeBar | None:
    """The bar of a household, ``None`` while no notice stands."""
    notice = open_notice(site)
    return bar_of(notice) if notice else None


def bar_of(notice: DrinkNotice) -> NoticeBar:
    """The words of one notice.

    Boiling is named only where no nitrate or metal result forbids it: boiling concentrates those, so the
    advice for every household is bottled water.
    """
    return NoticeBar(
        heading=_("Do not drink the water at %(place)s") % {"place": notice.site.name},
        text=notice.cause,
        advice=_(
            "Use bottled water for drinking, ice, baby food and brushing teeth. Infants and anyone pregnant first."
        ),
        stands=_("Stands until two clear laboratory samples in a row after the remedy:"),
        clears=notice.clear_samples,
    )
