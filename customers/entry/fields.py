"""Form fields that take numbers in the reader's units and give canonical ones."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, validate_email
from django.db.models import DecimalField, Field, IntegerField, Model
from django.utils.translation import gettext as _

from sizing.engine.display import from_display, to_display, unit_of


def limits_of(model: type[Model], name: str) -> tuple[float | None, float | None]:
    """Lowest and highest value the model's column takes, from its own validators."""
    low = high = None
    for validator in model._meta.get_field(name).validators:  # type: ignore[union-attr]
        bound = getattr(validator, "limit_value", None)
        if isinstance(validator, MinValueValidator):
            low = float(bound)  # type: ignore[arg-type]
        elif isinstance(validator, MaxValueValidator):
            high = float(bound)  # type: ignore[arg-type]
    return low, high


def plain(number: float, digits: int = 4) -> str:
    """A number as one would type it: "12", "0.75", "1013"; no exponent, no trailing zeros."""
    if number == 0 or not math.isfinite(number):
        return "0" if number == 0 else str(number)
    places = max(0, digits - 1 - math.floor(math.log10(abs(number))))
    text = f"{number:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def to_number(text: str) -> float:
    """A typed number, with decimal point or decimal comma. Raises ``ValueError``."""
    flat = re.sub(r"[\s\u00a0\u202f]", "", text).replace("\u2212", "-")
    if not re.fullmatch(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)", flat):
        raise ValueError(text)
    return float(flat.replace(",", "."))


class MeasureField(forms.Field):
    """A number with a unit. ``quantity`` is the engine's name of the quantity ("" = a bare number).

    ``low`` and ``high`` are canonical. Text that still stands as it was shown gives back the stored value,
    so that opening and saving a form never wears a number down by rounding.
    """

    def __init__(
        self,
        quantity: str = "",
        system: str = "metric",
        *,
        low: float | None = None,
        high: float | None = None,
        stored: float | None = None,
        unit: str = "",
        whole: bool = False,
        **kwargs: Any,
    ) -> None:
        self.quantity, self.system, self.low, self.high, self.whole = quantity, system, low, high, whole
        self.stored = stored
        self.unit = unit_of(quantity, system) if quantity else unit
        kwargs.setdefault("widget", forms.TextInput())
        super().__init__(initial=self.shown(stored), **kwargs)
        self.widget.attrs.setdefault("inputmode", "numeric" if whole else "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")
        self.widget.attrs.setdefault("size", 8)

    def shown(self, value: float | None, digits: int = 3) -> str:
        """A canonical value as text in the reader's units."""
        if value is None:
            return ""
        number = float(value)
        if self.quantity:
            number = float(to_display(number, self.quantity, self.system)[0])
        return plain(number, digits if self.quantity else 9)

    def _bound(self, value: float, *, lowest: bool) -> str:
        """A limit in the reader's units, rounded to the side that is still accepted."""
        text = self.shown(value, 4)
        typed = float(text)
        inside = self._canonical(typed) >= value if lowest else self._canonical(typed) <= value
        if inside or not text.strip("0."):
            return text
        step = 10.0 ** -len(text.partition(".")[2])
        return plain(typed + (step if lowest else -step), 6)

    def _canonical(self, typed: float) -> float:
        return float(from_display(typed, self.quantity, self.system)) if self.quantity else typed

    @property
    def accepted(self) -> str:
        """What would do, in the reader's units."""
        unit = f" {self.unit}" if self.unit else ""
        kind = _("a whole number") if self.whole else _("a number")
        low = None if self.low is None else self._bound(self.low, lowest=True)
        high = None if self.high is None else self._bound(self.high, lowest=False)
        if low is None and high is None:
            return kind + unit
        if high is None:
            return _("%(kind)s of at least %(low)s%(unit)s") % {"kind": kind, "low": low, "unit": unit}
        told = {"kind": kind, "low": low or "0", "high": high, "unit": unit}
        return _("%(kind)s from %(low)s to %(high)s%(unit)s") % told

    def clean(self, value: Any) -> Any:
        """The canonical number, ``None`` for an empty field that may be empty."""
        text = str(value or "").strip()
        if not text:
            if self.required:
                raise ValidationError(_("nothing typed; accepted is %(what)s") % {"what": self.accepted})
            return None
        if self.stored is not None and text == self.shown(self.stored):
            return self.stored
        try:
            number = self._canonical(to_number(text))
        except ValueError:
            raise self._refusal(text) from None
        slack = 1e-9 * max(1.0, abs(number))
        below = self.low is not None and number < self.low - slack
        above = self.high is not None and number > self.high + slack
        if below or above or (self.whole and number != int(number)):
            raise self._refusal(text)
        return int(number) if self.whole else number

    def _refusal(self, text: str) -> ValidationError:
        return ValidationError(_("“%(text)s” typed; accepted is %(what)s") % {"text": text, "what": self.accepted})

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the text is not what was shown."""
        return str(initial or "").strip() != str(data or "").strip()


class CountField(MeasureField):
    """How many of something; nothing typed means none."""

    counted = True

    def __init__(self, most: int, stored: int | None, **kwargs: Any) -> None:
        super().__init__(low=0, high=most, stored=stored, whole=True, **kwargs)

    def clean(self, value: Any) -> int:
        """The count."""
        return int(super().clean(value)) if str(value or "").strip() else 0


class AmountField(forms.DecimalField):
    """An exact number (money, a rate): decimal point or comma; what is refused is told with what would do."""

    def __init__(self, *, unit: str = "", **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.unit = unit

    @property
    def accepted(self) -> str:
        """What would do."""
        told = {"low": self.min_value, "high": self.max_value, "places": self.decimal_places}
        if self.min_value is not None and self.max_value is not None:
            return _("a number from %(low)s to %(high)s, at most %(places)s decimals") % told
        if self.min_value is not None:
            return _("a number of at least %(low)s, at most %(places)s decimals") % told
        return _("a number, at most %(places)s decimals") % told

    def to_python(self, value: Any) -> Any:
        """The number; a comma counts as the decimal point."""
        text = re.sub(r"[\s\u00a0\u202f]", "", str(value)).replace("\u2212", "-") if value is not None else ""
        return super().to_python(text.replace(",", "."))

    def clean(self, value: Any) -> Any:
        """The number, ``None`` for an empty field that may be empty."""
        text = str(value or "").strip()
        try:
            return super().clean(value)
        except ValidationError:
            told = {"text": text, "what": self.accepted}
            said = _("“%(text)s” typed; accepted is %(what)s") if text else _("nothing typed; accepted is %(what)s")
            raise ValidationError(said % told) from None


def number_for(column: Field[Any, Any], **kwargs: Any) -> forms.Field | None:
    """The form field of a model's column: numbers so that what is refused is told with what would do."""
    if not isinstance(column, DecimalField | IntegerField) or column.choices:
        return column.formfield(**kwargs)
    low, high = limits_of(column.model, column.name)
    if isinstance(column, IntegerField):
        field = column.formfield(**kwargs)
        if field is None:  # a column that no form shows
            return None
        return MeasureField(
            low=low, high=high, whole=True, required=field.required, label=field.label, help_text=field.help_text
        )
    least = None if low is None else Decimal(plain(low))
    most = None if high is None else Decimal(plain(high))
    return column.formfield(form_class=AmountField, min_value=least, max_value=most, **kwargs)


class SpokenText(forms.CharField):
    """A text whose refusals name what was typed and what would do."""

    def __init__(self, most: int, **kwargs: Any) -> None:
        self.most = most
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def validate(self, value: str) -> None:
        """Something, where something is needed, and not too long."""
        if self.required and not value:
            raise ValidationError(_("nothing typed; accepted is up to %(most)s characters") % {"most": self.most})
        if len(value) > self.most:
            told = {"n": len(value), "most": self.most}
            raise ValidationError(_("%(n)s characters typed; accepted is at most %(most)s") % told)


class SpokenEmail(SpokenText):
    """An e-mail address."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(254, widget=forms.EmailInput(), **kwargs)

    def validate(self, value: str) -> None:
        """An address, or nothing where it may be left out."""
        super().validate(value)
        try:
            if value:
                validate_email(value)
        except ValidationError:
            told = _("“%(text)s” typed; accepted is an address such as name@mail.example")
            raise ValidationError(told % {"text": value}) from None


class SpokenChoice(forms.ChoiceField):
    """A choice whose refusal names what would do."""

    def validate(self, value: str) -> None:
        """One of the list."""
        known = ", ".join(str(words) for code, words in list(self.choices) if code)  # type: ignore[arg-type]
        if self.required and not value:
            raise ValidationError(_("nothing chosen; accepted is %(all)s") % {"all": known})
        if value and not self.valid_value(value):
            raise ValidationError(_("“%(text)s” chosen; accepted is %(all)s") % {"text": value, "all": known})
