"""A form field for one rating: in the reader's unit, or any unit typed behind the number."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from customers.entry.fields import plain
from customers.sheets import plain_number
from sizing.engine.errors import OutsideValidRange, UnreadableValue
from sizing.engine.stages.ratings import SOURCE, RatingField
from sizing.engine.stages.typed import accepted_shown, shown_rating, typed_rating, unit_shown


class RatingText(forms.Field):
    """A rating as text: "30", "8 US gpm". Text that still stands as it was shown gives back the stored value."""

    def __init__(self, rating: RatingField, system: str, stored: Any = None, **kwargs: Any) -> None:
        self.rating, self.system, self.stored = rating, system, stored
        kwargs.setdefault("widget", forms.TextInput())
        super().__init__(initial=self.shown(stored), **kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")
        self.widget.attrs.setdefault("size", 8)

    def shown(self, value: Any) -> str:
        """A canonical value as the reader's number."""
        return "" if value is None else plain(float(shown_rating(self.rating, value, self.system)), 5)

    def clean(self, value: Any) -> Any:
        """The canonical number, ``None`` for an empty field that may be empty."""
        text = " ".join(str(value or "").split())
        if not text:
            if self.required:
                raise ValidationError(_("nothing typed; accepted is %(what)s") % {"what": self._accepted()})
            return None
        if self.stored is not None and text == self.shown(self.stored):
            return self.stored
        try:
            return typed_rating(self.rating, _pointed(text), self.system)
        except OutsideValidRange as refused:
            raise ValidationError(refusal_words(self.rating, text, refused, self.system)) from None
        except UnreadableValue:
            told = {"text": text, "what": self._accepted()}
            raise ValidationError(_("“%(text)s” typed; accepted is %(what)s") % told) from None

    def _accepted(self) -> str:
        field = self.rating
        bounds = OutsideValidRange(
            field.name, "", low=field.low, high=field.high, unit=field.unit, low_open=field.low_open
        )
        return _("a number %(range)s, or with its unit") % {"range": accepted_shown(field, bounds, self.system)}

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the text is not what was shown."""
        return str(initial or "").strip() != str(data or "").strip()


def refusal_words(field: RatingField, typed: str, refused: OutsideValidRange, system: str) -> str:
    """What was typed, what would do in the reader's units, and why."""
    why = "" if refused.source == SOURCE or not refused.source else f" ({refused.source})"
    unit = unit_shown(field, system)
    told = {"text": typed or "–", "what": accepted_shown(field, refused, system).replace(field.unit, unit) + why}
    return _("“%(text)s” typed; accepted is %(what)s") % told


def _pointed(text: str) -> str:
    """A decimal comma made a point where nothing else it could be: "8,5 L/min"."""
    number, blank, unit = text.partition(" ")
    try:
        return plain_number(number, "," if number.count(",") == 1 and "." not in number else ".") + blank + unit
    except ValueError:
        return text
