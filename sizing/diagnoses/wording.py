"""Shares and bits in words: nobody on the phone should have to think in either."""

from __future__ import annotations

from django.utils.translation import gettext as _

SETTLES, MUCH, SOMETHING = 0.4, 0.15, 0.05  # bits, ours


def share_words(share: float) -> str:
    """A share as one says it: "nearly sure", "about 8 in 10", "under 1 in 10"."""
    tenths = round(share * 10)
    if share >= 0.95:
        return _("nearly sure")
    if share < 0.1:
        return _("under 1 in 10")
    return _("about %(n)s in 10") % {"n": min(max(tenths, 1), 9)}


def gain_words(bits: float) -> str:
    """How much an answer is expected to tell."""
    if bits >= SETTLES:
        return _("may well settle it")
    if bits >= MUCH:
        return _("tells a lot")
    return _("tells something") if bits >= SOMETHING else _("tells a little")


def weight_words(bits: float) -> str:
    """How strongly one piece of evidence speaks."""
    size = abs(bits)
    if size >= 3:
        return _("strongly")
    return _("clearly") if size >= 1 else _("a little")


def wait_words(days: float) -> str:
    """How long until the answer is there."""
    if days <= 0:
        return _("at once")
    if days < 1:
        return _("within hours")
    whole = round(days)
    return _("in a day") if whole == 1 else _("in %(n)s days") % {"n": whole}
