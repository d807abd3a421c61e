"""What the page of one line shows: each stage with what may be done to it, and how the line stands to the others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from service.office.bench import Alternative, Ground, ShownStage, alternatives_of
from service.office.bench_facts import cost_bar, symbol_of
from service.office.templatetags.look import in_fifty
from sizing.drawing.chart_values import CostBar
from sizing.engine.design import Product
from sizing.engine.errors import EngineError
from sizing.engine.train_hand import Breach
from sizing.proposals.copies import offered
from sizing.proposals.handwork import laid
from sizing.proposals.line import Edit, LineRefused, edited, kind_words, may_be_paired, next_size, size_of
from sizing.proposals.line import units_of as units_of_train
from sizing.proposals.models import ProposedTrain
from sizing.proposals.queries import standing, train_value

MOST_FOUND = 12
MOST_CHOICES = 60


@dataclass(frozen=True)
class WorkedStage:
    """A stage with the products it may become, and which moves it has; an empty move cannot be made."""

    shown: ShownStage
    smaller: Product | None
    larger: Product | None
    earlier: bool
    later: bool
    pair: str  # "one", "two", or "" where it cannot stand in pairs
    open: bool = False

    @property
    def place(self) -> int:
        """Its place, from 0."""
        return self.shown.number - 1

    @property
    def at(self) -> str:
        """The same as the end of an id."""
        return str(self.place)


@dataclass(frozen=True)
class Choice:
    """Another product for a stage, and what the line would come to with it."""

    product: Product
    here: bool
    dearer: Decimal
    breaks: tuple[Breach, ...]

    place: int

    @property
    def own(self) -> list[Breach]:
        """The limits it breaks at its own place."""
        return [breach for breach in self.breaks if breach.place == self.place]

    @property
    def said(self) -> str:
        """The first limit it breaks at its own place, its name left out: it stands beside."""
        name = self.product.name
        return next((b.text.removeprefix(f"{name}: ").removeprefix(f"{name} ") for b in self.own), "")

    @property
    def change(self) -> str:
        """How much dearer or cheaper it is."""
        sign = "+" if self.dearer > 0 else "−" if self.dearer < 0 else "±"
        return f"{sign}{abs(self.dearer):,.0f}"

    @property
    def elsewhere(self) -> int:
        """How many limits the line breaks at other places with it."""
        return len(self.breaks) - len(self.own)


@dataclass(frozen=True)
class Against:
    """A figure of this line and how it stands to the line it was begun from."""

    label: str
    value: str
    change: str = ""


@dataclass(frozen=True)
class LinePage:
    """Everything the page draws."""

    alt: Alternative
    stages: tuple[WorkedStage, ...]
    choices: tuple[Choice, ...]
    others: tuple[ProposedTrain, ...]
    base: ProposedTrain | None
    bars: tuple[CostBar, ...]
    symbol: str

    @property
    def breaches(self) -> int:
        """How many limits the line breaks."""
        return len(self.alt.row.breaks)


def line_page(ground: Ground, row: ProposedTrain, today: date, opened: int | None = None) -> LinePage:
    """The values of one line's page; ``opened`` is the place whose other products are listed."""
    rows = list(standing(ground.proposal))
    (alt,) = alternatives_of(ground, [row], today)
    products = {stage.product.code: stage.product for stage in alt.train.stages}
    products |= {product.code: product for product in offered(ground.proposal) if product.code not in products}
    base = next((other for other in rows if other.letter == row.began_from and other.pk != row.pk), None)
    symbol = symbol_of(ground.site)
    trains = [(row, alt.train), *([(base, train_value(base))] if base else [])]
    return LinePage(
        alt=alt,
        stages=_worked(alt, products, opened),
        choices=() if opened is None else choices_of(ground, row, alt, products, opened),
        others=tuple(other for other in rows if other.pk != row.pk),
        base=base,
        bars=tuple(cost_bar(one.letter, train, symbol, passes=one.passes) for one, train in trains),
        symbol=symbol,
    )


def _worked(alt: Alternative, products: Mapping[str, Product], opened: int | None) -> tuple[WorkedStage, ...]:
    stages = alt.stages
    lines = [shown.placed.at for shown in stages]
    found = []
    for place, shown in enumerate(stages):
        product = shown.placed.product
        pair = ("one" if shown.placed.count == 2 else "two") if may_be_paired(product) else ""
        found.append(
            WorkedStage(
                shown=shown,
                smaller=next_size(product, products.values(), up=False),
                larger=next_size(product, products.values(), up=True),
                earlier=place > 0 and lines[place - 1] == lines[place],
                later=place + 1 < len(stages) and lines[place + 1] == lines[place],
                pair=pair,
                open=place == opened,
            )
        )
    return tuple(found)


def choices_of(
    ground: Ground, row: ProposedTrain, alt: Alternative, products: Mapping[str, Product], place: int
) -> tuple[Choice, ...]:
    """Every other product of a stage's kind, smallest first, each with the limits the line would break with it."""
    if not 0 <= place < len(alt.stages):
        return ()
    now = alt.stages[place].placed.product
    units = units_of_train(alt.train)
    alike = [product for product in products.values() if product.kind is now.kind]
    alike.sort(key=lambda product: (abs(size_of(product) - size_of(now)), product.price, product.code))
    found = []
    for product in sorted(alike[:MOST_CHOICES], key=lambda one: (size_of(one), one.price, one.code)):
        here = product.code == now.code
        line = edited(units, Edit("swap", place, product.code), products).units
        try:
            breaks = laid(ground.request, line, dict(products)).breaches
        except EngineError as refused:  # a product whose ratings do not hold any more
            breaks = (Breach(place, "ratings", str(refused)),)
        found.append(Choice(product, here, product.price - now.price, breaks, place))
    return tuple(found)


def figures_of(page: LinePage, years: int, pressure: str) -> tuple[Against, ...]:
    """The line's figures against those of the line it was begun from."""
    row, base = page.alt.row, page.base
    sure = row.confidence.get("share")
    rows = [
        Against(
            _("To buy, fitted"),
            _money(page.symbol, row.first_cost),
            _more(row.first_cost, base.first_cost if base else None),
        ),
        Against(
            _("Over %(years)s years") % {"years": years},
            _money(page.symbol, row.whole_life_cost),
            _more(row.whole_life_cost, base.whole_life_cost if base else None),
        ),
        Against(
            _("Upkeep a year"),
            _("%(hours).1f h") % {"hours": row.upkeep_hours_year},
            _hours(row.upkeep_hours_year, base.upkeep_hours_year if base else None),
        ),
        Against(_("Pressure at the worst fixture"), pressure or _("not reckoned")),
        Against(_("Plausible peaks held"), _("not counted") if sure is None else in_fifty(sure)),
    ]
    return tuple(rows)


def _money(symbol: str, amount: Decimal) -> str:
    return f"{symbol}{amount:,.0f}"


def _more(amount: Decimal, other: Decimal | None) -> str:
    if other is None or round(amount) == round(other):
        return ""
    return f"{'+' if amount > other else '−'}{abs(amount - other):,.0f}"


def _hours(hours: float, other: float | None) -> str:
    if other is None or abs(hours - other) < 0.05:
        return ""
    return f"{'+' if hours > other else '−'}{abs(hours - other):.1f}"


def found_products(products: Sequence[Product], typed: str) -> list[Product]:
    """Products whose name, kind, size or code holds every word typed; those that begin with it first."""
    words = typed.lower().split()
    if not words:
        return []

    def text(product: Product) -> str:
        return f"{product.name} {kind_words(product.kind)} {product.size_label} {product.code}".lower()

    hits = [product for product in products if all(word in text(product) for word in words)]
    hits.sort(key=lambda one: (not one.name.lower().startswith(words[0]), one.name.lower(), one.price, one.code))
    return hits


def parsed(do: str) -> Edit:
    """What a button of the page asks: "larger:2", "swap:2:uv-42", "add::uv-42"."""
    what, _sep, rest = do.partition(":")
    place, _sep, code = rest.partition(":")
    if place and not (place.isascii() and place.isdigit()):
        raise LineRefused(f"stage is {place!r}, accepted is its place in the line")
    return Edit(what, int(place or 0), code)
