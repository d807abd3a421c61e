"""Tiny stages with plain arithmetic: enough to prove the search without any chemistry."""

from dataclasses import dataclass
from decimal import Decimal

from sizing.engine.design import (
    CostTerms,
    DesignRequest,
    Fixture,
    Goals,
    LifeKind,
    LifeRule,
    Margin,
    Measured,
    Needs,
    Occupancy,
    Product,
    SiteLimits,
    SourceType,
    StageKind,
    SupplySide,
    WearPart,
)
from sizing.engine.stages.base import FeedLimit, Sizing, Stage, Upkeep
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Water


@dataclass(frozen=True)
class Recipe:
    """What a fake does. ``removes`` maps analytes to fractions, ``limits`` are (analyte, sense, value, required)."""

    kind: StageKind
    code: str
    price: int = 500
    removes: tuple[tuple[str, float], ...] = ()
    adds: tuple[tuple[str, float], ...] = ()
    limits: tuple[tuple[str, str, float, bool], ...] = ()
    rated: float = 100.0
    loss_kpa: float = 10.0
    backwash: float = 0.0
    drain: bool = False
    power_w: float = 0.0
    wall: float = 0.3
    drainable: bool = True
    fine: bool = False
    cyst: bool = False
    dose: float = 0.0
    minutes: float = 20.0
    part_price: int = 20
    months: float = 12.0
    salt_per: float = 0.0  # kg a year for each mg/L of hardness fed
    certified: tuple[str, ...] = ()
    shutoff: float = 0.0  # what a booster adds at no flow
    held: float = 400.0  # what a reducer is set to
    bears: float | None = None
    credits: tuple[tuple[str, float], ...] = ()  # logs by organism


class Fake(Stage):
    """A stage that follows its recipe."""

    kind = StageKind.SEDIMENT
    purpose = "Stands in for a real one"

    def __init__(self, recipe: Recipe) -> None:
        part = WearPart(
            "part", "Part", LifeRule(LifeKind.CALENDAR, recipe.months), price=Decimal(recipe.part_price),
            minutes=recipe.minutes,
        )  # fmt: skip
        ratings = {
            "flow_l_min": recipe.rated,
            "supply": "mains",
            "shutoff_kpa": recipe.shutoff,
            "set_kpa": recipe.held,
            "most_kpa": recipe.bears,
        }
        super().__init__(
            Product(
                recipe.code, recipe.kind, recipe.code, ratings, Decimal(recipe.price), 1.0,
                certified_for=recipe.certified, wear=(part,),
            )
        )  # fmt: skip
        self.recipe = recipe
        self.kind = recipe.kind
        self.fine, self.cyst_tested = recipe.fine, recipe.cyst
        self.is_barrier = recipe.dose > 0
        self.passes_l_min = recipe.rated

    def feed_limits(self, duty):
        return tuple(FeedLimit(a, s, v, "because", "made up", True, r) for a, s, v, r in self.recipe.limits)

    def treat(self, water, duty):
        changes = {a: water[a] * (1.0 - f) for a, f in self.recipe.removes if a in water}
        changes |= {a: water[a] + more for a, more in self.recipe.adds if a in water}
        return water.with_values(**changes) if changes else water

    def needs(self, water, duty):
        r = self.recipe
        return Needs(
            backwash_l_min=r.backwash, backwash_l=r.backwash * 10, drain=r.drain, power_w=r.power_w, wall_m=r.wall,
            drainable=r.drainable,
        )  # fmt: skip

    def loss(self, flow_l_min, *, dirty=False):
        return self.recipe.loss_kpa * (2.0 if dirty else 1.0)

    def upkeep(self, water, duty):
        wear = self.product.wear
        hours = hours_per_year(wear, duty.months_open, duty.daily_l)
        salt = self.recipe.salt_per * water.get("hardness", 0.0)
        return Upkeep(wear, salt_kg_year=salt, hours_year=hours + salt / 1000.0)

    def size(self, water, duty):
        if self.recipe.kind is StageKind.RESTRICTOR:
            return Sizing()
        margins = [Margin("flow", "Flow", duty.flow_l_min, self.recipe.rated, "L/min", "max")]
        if self.recipe.dose:
            dose = self.recipe.dose if duty.flow_l_min <= self.recipe.rated else 0.0
            margins.append(Margin("uv_dose", "Dose", dose, 40.0, "mJ/cm2", "min"))
        return Sizing(margins=tuple(margins))

    def most_credit(self, duty):
        return dict(self.recipe.credits)

    def log_credits(self, water, duty):
        return dict(self.recipe.credits)

    def heeds(self, *, costs=True):
        solids = ("iron", "manganese", "sulphide") if self.kind is StageKind.CHLORINE else ()
        return frozenset((*solids, *(("hardness",) if costs and self.recipe.salt_per else ())))

    def alters(self):
        return {a: (a,) for a, _ in (*self.recipe.removes, *self.recipe.adds)}

    def most_removed(self):
        return dict(self.recipe.removes)

    def too_small(self, duty):
        return self.recipe.kind is not StageKind.RESTRICTOR and duty.flow_l_min > self.recipe.rated

    def improves(self):
        return tuple(a for a, _ in self.recipe.removes)


def request(
    water, *, source=SourceType.DRILLED_WELL, goals=None, site=None, pump=30.0, cut_in=276.0, above=138.0, **supply
):
    """A small house with one bathroom."""
    return DesignRequest(
        water=Water(water),
        source=source,
        supply=SupplySide(Measured(pump, 1.0), cut_in, cut_in + above, 150.0, **supply),
        fixtures=(Fixture("shower", 1), Fixture("lavatory", 1), Fixture("toilet", 1), Fixture("kitchen_faucet", 1)),
        occupancy=Occupancy(3, 5),
        site=site or SiteLimits(),
        goals=goals or Goals(ph_low=None, ph_high=None),
        catalogue=(),
        cost=CostTerms(),
    )
