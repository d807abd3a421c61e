"""The one form of all small calculations: built from what a calculation asks, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _

from customers.entry.fields import MeasureField, SpokenChoice, SpokenText, plain, to_number
from service.office.reckoned import Ask, Calculator, DoesNotFit, Reckoned, Values
from sizing.engine.display import from_display, to_display
from sizing.engine.errors import OutsideValidRange

_SAME = 1e-6  # two numbers closer than this are one number written in two units


class ReckonForm(forms.Form):
    """Questions of a calculation. ``known`` are canonical answers a household's file already gives."""

    use_required_attribute = False

    def __init__(
        self,
        calculator: Calculator,
        system: str,
        data: Any = None,
        known: Values | None = None,
        typed: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(data)
        self.calculator, self.system = calculator, system
        for ask in calculator.asks:
            given = (known or {}).get(ask.name)
            field = _field(ask, system, ask.default if given is None else given)
            if typed and ask.name in typed:
                field.initial = typed[ask.name]
            self.fields[ask.name] = field

    @property
    def blocks(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Bound fields by the heading they stand under, in the order asked."""
        found: list[tuple[str, list[forms.BoundField]]] = []
        for ask in self.calculator.asks:
            if not found or found[-1][0] != ask.block:
                found.append((ask.block, []))
            found[-1][1].append(self[ask.name])
        return found

    def reckon(self) -> Reckoned | None:
        """The answer; ``None`` with an error at the field to mend where the engine refuses."""
        try:
            return self.calculator.run(self.cleaned_data, self.system)
        except DoesNotFit as unfit:
            self._refuse(unfit.name, unfit.accepted)
        except OutsideValidRange as outside:
            for ask in self.calculator.asks:
                if outside.parameter in ask.says:
                    self._refuse(ask.name, self._accepted(ask, outside))
                    break
            else:
                self.add_error(None, str(outside))
        return None

    def _refuse(self, name: str, accepted: str) -> None:
        typed = str(self.data.get(name, "")).strip()
        text = _("“%(text)s” typed; accepted is %(what)s") if typed else _("nothing typed; accepted is %(what)s")
        self.add_error(name, text % {"text": typed, "what": accepted})

    def _accepted(self, ask: Ask, outside: OutsideValidRange) -> str:
        """The engine's limits in the reader's units, and why."""
        per = ask.per(self.cleaned_data)
        low = None if outside.low is None else outside.low * per * (1.0 - _SAME)
        high = None if outside.high is None else outside.high * per * (1.0 + _SAME)
        why = f" ({outside.source})" if outside.source else ""
        if low is None and high is None:
            return outside.source or outside.accepted
        field = MeasureField(ask.quantity, self.system, low=low, high=high, unit=ask.unit)
        if outside.low_open and high is None and low is not None:
            told = {"low": field.shown(low, 4), "unit": field.unit}
            return _("more than %(low)s %(unit)s") % told + why
        return field.accepted + why

    def given(self) -> Iterator[tuple[str, str]]:
        """What was answered, in words, for the printed sheet."""
        for ask in self.calculator.asks:
            value = self.cleaned_data.get(ask.name)
            if value in (None, "", 0) and not ask.required:
                continue
            if ask.choices:
                yield str(ask.label), str(dict(ask.choices)[str(value)])
            else:
                unit = getattr(self.fields[ask.name], "unit", "")
                yield str(ask.label), f"{str(self.data.get(ask.name, '')).strip()} {unit}".strip()


def _field(ask: Ask, system: str, value: Any) -> forms.Field:
    if ask.choices:
        return SpokenChoice(
            label=ask.label, choices=list(ask.choices), initial=value, required=ask.required, help_text=ask.hint
        )
    if ask.text:
        return SpokenText(ask.text, label=ask.label, required=ask.required, help_text=ask.hint, initial=value)
    field = MeasureField(
        ask.quantity,
        system,
        low=ask.low,
        high=ask.high,
        unit=ask.unit,
        whole=ask.whole,
        label=ask.label,
        required=ask.required,
        help_text=ask.hint,
    )
    field.initial = field.shown(value, 4)
    field.plain_label = bool(ask.hint) or ask.whole  # type: ignore[attr-defined]
    return field


def in_other_units(text: str, quantity: str, system: str, other: str) -> str:
    """A typed number written in the other system, with no more digits than keep it: there and back gives the same.

    What is no number stays as it was typed.

    >>> in_other_units("15", "volume", "us", "metric"), in_other_units("56.7812", "volume", "metric", "us")
    ('56.7812', '15')
    """
    try:
        canonical = float(from_display(to_number(text), quantity, system))
    except ValueError:
        return text
    there = float(to_display(canonical, quantity, other)[0])
    nothing = float(from_display(0.0, quantity, other))
    unit = abs(float(from_display(1.0, quantity, other)) - nothing) if nothing else 0.0
    for written in ("0", *(plain(there, digits) for digits in range(1, 12))):
        back = float(from_display(float(written), quantity, other))
        if abs(back - canonical) <= _SAME * max(abs(canonical), unit):
            return written
    return plain(there, 12)


def switched(calculator: Calculator, query: QueryDict, system: str, other: str) -> QueryDict:
    """The query with every number typed in ``system`` written in ``other``, nothing lost."""
    there = query.copy()
    there.pop("show", None)
    there["units"] = other
    for ask in calculator.asks:
        if ask.quantity and ask.name in there:
            there[ask.name] = in_other_units(str(there[ask.name]), ask.quantity, system, other)
    return there
