"""A form for one catalogue item, made from its kind's rating schema."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from sizing.catalogue.models import CatalogueItem
from sizing.engine.design import StageKind
from sizing.engine.errors import EngineError
from sizing.engine.stages.registry import SCHEMAS, validate_ratings


class ItemForm(forms.Form):
    """Name, price, fitting hours, and every rating of the kind in the schema's unit."""

    name = forms.CharField(label=_("Name"), max_length=120)
    price = forms.DecimalField(label=_("Price"), min_value=Decimal(0), max_digits=10, decimal_places=2)
    install_hours = forms.FloatField(label=_("Hours to fit"), min_value=0, max_value=200)
    active = forms.BooleanField(label=_("Offered in designs"), required=False)

    def __init__(self, *args: Any, item: CatalogueItem, currency: str, **kwargs: Any) -> None:
        initial = {"name": item.name, "price": item.price, "install_hours": item.install_hours, "active": item.active}
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        self.item = item
        self.fields["price"].unit = currency  # type: ignore[attr-defined]
        self.fields["install_hours"].unit = _("hours")  # type: ignore[attr-defined]
        for rating in SCHEMAS[StageKind(item.kind)]:
            text = item.ratings.get(rating.name)
            field = forms.CharField(
                label=rating.label, required=rating.required, initial="" if text is None else text
            )
            if rating.choices:
                field.widget = forms.Select(choices=[(choice, choice) for choice in rating.choices])
            field.unit = rating.unit  # type: ignore[attr-defined]
            self.fields[f"rating_{rating.name}"] = field

    def clean(self) -> dict[str, Any]:
        """The ratings must satisfy the kind's schema, which names field, value and what would do."""
        data = super().clean() or {}
        ratings = {
            name.removeprefix("rating_"): value
            for name, value in data.items()
            if name.startswith("rating_") and value not in ("", None)
        }
        try:
            data["ratings"] = validate_ratings(StageKind(self.item.kind), ratings)
        except EngineError as error:
            named = getattr(error, "parameter", getattr(error, "field", ""))
            field = next((f"rating_{n}" for n in ratings if n == named), None)
            self.add_error(field, ValidationError(str(error)))
        return data
