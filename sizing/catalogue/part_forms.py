"""Forms of the wearing parts of an item: those it has, and two empty ones."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import SpokenChoice
from sizing.catalogue.checking import MOST_PARTS
from sizing.engine.design import LifeKind, LifeRule, WearPart

LIVES = [
    (LifeKind.CALENDAR.value, gettext_lazy("months on the calendar")),
    (LifeKind.OPERATING.value, gettext_lazy("months in operation")),
    (LifeKind.OPENING.value, gettext_lazy("new at each opening, months at most")),
    (LifeKind.CONDITION.value, gettext_lazy("as found, looked at every so many months")),
    (LifeKind.LITRES.value, gettext_lazy("litres passed")),
]
SPARE = 2


class PartForm(forms.Form):
    """One wearing part; all fields empty means no part, ``gone`` takes one out."""

    use_required_attribute = False
    code = forms.CharField(label=gettext_lazy("Part code"), max_length=30, required=False)
    name = forms.CharField(label=gettext_lazy("Part"), max_length=80, required=False)
    specification = forms.CharField(label=gettext_lazy("Specification to buy by"), max_length=160, required=False)
    price = forms.DecimalField(
        label=gettext_lazy("Part price"), min_value=0, max_digits=9, decimal_places=2, required=False
    )
    life = SpokenChoice(label=gettext_lazy("Life counted in"), choices=[("", "–"), *LIVES], required=False)
    amount = forms.FloatField(label=gettext_lazy("How many"), min_value=0, required=False)
    cap_months = forms.FloatField(label=gettext_lazy("Months at the longest"), min_value=0, required=False)
    minutes = forms.FloatField(label=gettext_lazy("Minutes to renew"), min_value=0, required=False)
    by_customer = forms.BooleanField(label=gettext_lazy("Renewed by the household"), required=False)
    gone = forms.BooleanField(label=gettext_lazy("Take this part out"), required=False)

    def __init__(self, data: Any, number: int, old: WearPart | None, currency: str) -> None:
        super().__init__(data, prefix=f"part{number}", initial=_initial(old))
        self.number, self.old = number, old
        self.fields["price"].unit = currency  # type: ignore[attr-defined]
        self.fields["minutes"].unit = _("min")  # type: ignore[attr-defined]
        for name in ("price", "amount", "cap_months", "minutes"):
            self.fields[name].widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        for field in self.fields.values():
            field.plain_label = True  # type: ignore[attr-defined]
        if old is None:
            del self.fields["gone"]

    @property
    def legend(self) -> str:
        """What the block is called."""
        if self.old is None:
            return _("Another part")
        return _("Part %(number)d, %(name)s") % {"number": self.number, "name": self.old.name}

    @property
    def filled(self) -> bool:
        """Whether there is a part in it."""
        data = self.cleaned_data
        told = any(data.get(n) not in (None, "") for n in ("code", "name", "specification", "price", "amount"))
        return told and not data.get("gone")

    def clean(self) -> dict[str, Any]:
        """A part that is begun is told whole."""
        data = super().clean() or {}
        self.cleaned_data = data
        if self.filled:
            for name in ("code", "name", "life", "amount"):
                if data.get(name) in (None, "") and name not in self.errors:
                    self.add_error(name, _("%(part)s: nothing typed; a part needs it") % {"part": self.legend})
        return data

    @property
    def part(self) -> WearPart:
        """The part as typed."""
        data = self.cleaned_data
        source = self.old.life.source if self.old else LifeRule(LifeKind.CALENDAR, 1.0).source
        return WearPart(
            code=data["code"],
            name=data["name"],
            life=LifeRule(LifeKind(data["life"]), data["amount"], data["cap_months"], source),
            specification=data["specification"],
            price=data["price"] if data["price"] is not None else Decimal(0),
            minutes=data["minutes"] if data["minutes"] is not None else 20.0,
            by_customer=data["by_customer"],
        )


def part_forms(data: Any, parts: Sequence[WearPart], *, currency: str) -> list[PartForm]:
    """A form for each part and two more, as many as an item may have."""
    count = min(len(parts) + SPARE, MOST_PARTS)
    olds = [*parts, *(None,) * (count - len(parts))]
    return [PartForm(data, number, old, currency) for number, old in enumerate(olds, start=1)]


def _initial(part: WearPart | None) -> dict[str, Any]:
    if part is None:
        return {}
    return {
        "code": part.code,
        "name": part.name,
        "specification": part.specification,
        "price": part.price.quantize(Decimal("0.01")),
        "life": part.life.kind.value,
        "amount": f"{part.life.amount:g}",
        "cap_months": "" if part.life.cap_months is None else f"{part.life.cap_months:g}",
        "minutes": f"{part.minutes:g}",
        "by_customer": part.by_customer,
    }
