"""The form of one item, made from its kind's rating schema in the reader's units, and of its wearing parts."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from customers.entry.fields import AmountField, SpokenChoice
from sizing.catalogue.checking import CODE, CODE_WORDS, MOST_HOURS, MOST_PRICE, ItemRefused, check_product, claims_of
from sizing.catalogue.part_forms import PartForm, part_forms
from sizing.catalogue.rating_field import RatingText, refusal_words
from sizing.engine.design import Product, StageKind
from sizing.engine.errors import EngineError, OutsideValidRange
from sizing.engine.stages.carbon import CARTRIDGE_ONLY, TANK_ONLY
from sizing.engine.stages.ratings import RatingField
from sizing.engine.stages.registry import SCHEMAS
from sizing.engine.stages.typed import unit_shown
from sizing.engine.water import ANALYTES

RATING = "rating_"
NOTHING = {"required": gettext_lazy("nothing typed")}


class ItemForm(forms.Form):
    """Name, price, fitting hours, claims, and every rating of the kind. ``parts`` are forms of its wearing parts.

    ``product`` is what stands in the fields: an item as it is today, or the one it is copied from.
    """

    use_required_attribute = False
    code = forms.CharField(
        label=gettext_lazy("Code"), max_length=40, help_text=gettext_lazy(CODE_WORDS), error_messages=NOTHING
    )
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120, error_messages=NOTHING)
    size_label = forms.CharField(
        label=gettext_lazy("Size"), max_length=60, required=False, help_text=gettext_lazy("as the drawing says it")
    )
    price = AmountField(
        label=gettext_lazy("Price"), min_value=0, max_value=MOST_PRICE, max_digits=9, decimal_places=2
    )
    install_hours = forms.FloatField(
        label=gettext_lazy("Hours to fit"), min_value=0, max_value=MOST_HOURS, error_messages=NOTHING
    )
    active = forms.BooleanField(label=gettext_lazy("Offered in new designs"), required=False)
    certified_for = forms.MultipleChoiceField(
        label=gettext_lazy("Certified for"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(
        self,
        data: Any = None,
        *,
        kind: StageKind,
        system: str,
        currency: str,
        product: Product | None = None,
        active: bool = True,
        new: bool = True,
    ) -> None:
        super().__init__(data, initial=_initial(product, active, new))
        self.kind, self.system, self.new, self.kept_code = kind, system, new, ""
        if not new and product is not None:
            del self.fields["code"]
            self.kept_code = product.code
        for name, unit in (("price", currency), ("install_hours", _("hours"))):
            self.fields[name].unit = unit  # type: ignore[attr-defined]
            self.fields[name].widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        claims = claims_of(kind)
        self.fields["certified_for"].choices = [(c, ANALYTES[c].name) for c in claims]  # type: ignore[attr-defined]
        if not claims:
            del self.fields["certified_for"]
        for field in _asked(kind, product):
            stored = product.ratings.get(field.name) if product else field.default
            self.fields[RATING + field.name] = _rating_field(field, stored, system)
        self.parts: list[PartForm] = part_forms(data, product.wear if product else (), currency=currency)

    @property
    def blocks(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Bound fields under their headings."""
        what = [name for name in ("code", "name", "size_label", "active") if name in self.fields]
        ratings = [name for name in self.fields if name.startswith(RATING)]
        found = [
            (_("What it is"), [self[name] for name in what]),
            (_("Price and fitting"), [self["price"], self["install_hours"]]),
            (_("Ratings"), [self[name] for name in ratings]),
        ]
        if "certified_for" in self.fields:
            found.append((_("Claims"), [self["certified_for"]]))
        return found

    def is_valid(self) -> bool:
        """Whether the item and all its parts can be kept; a clash between ratings stands at its field."""
        parts = [part.is_valid() for part in self.parts]
        if super().is_valid() and all(parts) and self._possible():
            return True
        if any(part.errors for part in self.parts):
            self.add_error(None, _("A wearing part cannot be as it stands; the fields are named here."))
        return False

    def clean_code(self) -> str:
        """Small letters, digits and hyphens."""
        code = str(self.cleaned_data["code"]).strip().lower()
        if not CODE.fullmatch(code):
            raise ValidationError(_("“%(text)s” typed; accepted is %(what)s") % {"text": code, "what": _(CODE_WORDS)})
        return code

    @property
    def product(self) -> Product:
        """What was typed, after ``is_valid``."""
        data = self.cleaned_data
        ratings = {n.removeprefix(RATING): v for n, v in data.items() if n.startswith(RATING) and v not in (None, "")}
        return Product(
            code=data.get("code") or self.kept_code,
            kind=self.kind,
            name=data["name"],
            ratings=ratings,
            price=data["price"],
            install_hours=data["install_hours"],
            size_label=data["size_label"],
            certified_for=tuple(data.get("certified_for", ())),
            wear=tuple(part.part for part in self.parts if part.filled),
        )

    def _possible(self) -> bool:
        try:
            check_product(self.product)
        except ItemRefused as refused:
            self._refuse_item(refused)
        except EngineError as refused:
            self._refuse_rating(refused)
        return not self.errors and not any(part.errors for part in self.parts)

    def _refuse_item(self, refused: ItemRefused) -> None:
        filled = [part for part in self.parts if part.filled]
        for number, part in enumerate(filled, start=1):
            where = f"part{number}_"
            if refused.field.startswith(where):
                name = refused.field.removeprefix(where)
                told = {"part": part.legend, "text": refused.value, "what": refused.accepted}
                words = _("%(part)s: “%(text)s” typed; accepted is %(what)s") % told
                part.add_error(name if name in part.fields else None, words)
                return
        self.add_error(refused.field if refused.field in self.fields else None, str(refused))

    def _refuse_rating(self, refused: EngineError) -> None:
        named = str(getattr(refused, "parameter", getattr(refused, "field", "")))
        named = {"softener capacity": "rated_capacity_g"}.get(named, named)
        field = next((field for field in SCHEMAS[self.kind] if field.name == named), None)
        if field is None:
            self.add_error(None, str(refused))
        elif isinstance(refused, OutsideValidRange):
            typed = str(self.data.get(RATING + named, "")).strip()
            self.add_error(RATING + named, refusal_words(field, typed, refused, self.system))
        else:
            self.add_error(RATING + named, str(getattr(refused, "accepted", refused)))


def _initial(product: Product | None, active: bool, new: bool) -> dict[str, Any]:
    if product is None:
        return {"active": active, "install_hours": 1}
    values = {
        "name": product.name,
        "size_label": product.size_label,
        "price": product.price.quantize(Decimal("0.01")),
        "install_hours": f"{product.install_hours:g}",
        "certified_for": list(product.certified_for),
        "active": active,
    }
    return values | {"code": f"{product.code[:36]}-own"} if new else values


def _asked(kind: StageKind, product: Product | None) -> list[RatingField]:
    """The ratings a form asks for: of a carbon tank none of a cartridge, and the other way round."""
    form = product.ratings.get("form") if product is not None and kind is StageKind.CARBON else None
    other = {"tank": CARTRIDGE_ONLY, "cartridge": (*TANK_ONLY, "valve", "power_w", "supply")}.get(str(form), ())
    return [field for field in SCHEMAS[kind] if field.name not in other]


def _rating_field(field: RatingField, stored: Any, system: str) -> forms.Field:
    label = _(field.label)
    if field.choices:
        made: forms.Field = SpokenChoice(
            label=label,
            choices=[
                *([] if field.required else [("", _("as usual"))]),
                *((c, c.replace("_", " ")) for c in field.choices),
            ],
            initial=stored,
            required=field.required,
        )
    elif field.quantity == "flag":
        made = forms.BooleanField(label=label, initial=bool(stored), required=False)
    else:
        made = RatingText(field, system, stored, label=label, required=field.required)
        made.unit = unit_shown(field, system)  # type: ignore[attr-defined]
    made.optional_word = _("optional")  # type: ignore[attr-defined]
    return made
