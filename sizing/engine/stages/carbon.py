"""Carbon: a bed in a tank, a cartridge on the main line, and the block at one tap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from sizing.engine.adsorption import contact_min, contact_rule
from sizing.engine.design import Margin, Setting, StageKind
from sizing.engine.errors import UnreadableValue
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.stages.base import Duty, FeedLimit, Rank, Sizing, Stage, Upkeep
from sizing.engine.stages.claims import claim_findings, litres_first
from sizing.engine.stages.housings import CLEAN_LINEAR, Housing, housing_fields
from sizing.engine.stages.practice_figures import (
    DOCUMENT,
    certified_fraction,
    limit,
    loss_step,
    practice,
    remove,
    scalar,
    shown,
)
from sizing.engine.stages.ratings import RatingField, Schema
from sizing.engine.stages.tanks import MediaTank, bed_fits_tank, cold_limit, tank_fields
from sizing.engine.upkeep import hours_per_year
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

MEDIA = ("carbon", "catalytic_carbon")
TANK_ONLY = ("tank_diameter_in", "tank_height_in", "drain_flow_l_min", "rinse_min")
CARTRIDGE_ONLY = ("length_in", "diameter_in", "width_m", "depth_m", "height_m", "holds_l", "rated_litres")
LEAST_FLOW = 1e-3  # L/min, so that an idle line has a contact time


def _form_complete(ratings: Mapping[str, Any]) -> None:
    """A tank states its tank, a cartridge its housing."""
    tank = ratings["form"] == "tank"
    for name in TANK_ONLY if tank else CARTRIDGE_ONLY:
        if ratings[name] is None:
            raise UnreadableValue(name, "", f"a value: it is needed for a carbon {ratings['form']}")
    if tank:
        bed_fits_tank(ratings)


def _either(fields: tuple[RatingField, ...]) -> tuple[RatingField, ...]:
    """The fields made optional: which are needed depends on the form."""
    own = (*TANK_ONLY, *CARTRIDGE_ONLY)
    return tuple(replace(field, required=False) if field.name in own else field for field in fields)


def _schema() -> Schema:
    tank = _either(tank_fields(MEDIA))
    known = {field.name for field in tank}
    housing = tuple(field for field in _either(housing_fields()) if field.name not in known)
    return Schema(
        (
            RatingField("form", "Form", "choice", choices=("tank", "cartridge")),
            *tank,
            *housing,
            RatingField("rated_litres", "Rated volume", "volume", "L", 0.0, 10e6, required=False, low_open=True),
        ),
        (_form_complete,),
    )


SCHEMA = _schema()


def contact_duty(water: Water, claims: tuple[str, ...]) -> str:
    """What the contact time is judged for: "organics" where a certified claim is to be used, else "chlorine".

    Units: none.
    Range: any water.
    Raises: nothing.
    Source: 10 NYCRR App. 75-B.2 for organics (published), trade for chlorine.

    >>> contact_duty(Water({"free_chlorine": 1.0}), ())
    'chlorine'
    """
    there = [code for code in ("voc", "pfas") if code in claims and np.any(np.asarray(water.get(code, 0.0)) > 0)]
    return "organics" if there else "chlorine"


def carbon_effects(product_claims: tuple[str, ...], prefix: str = "carbon") -> dict[str, float]:
    """Fractions a bed or cartridge removes; health contaminants only where certified.

    Units: fractions 0 to 1.
    Range: prefix "carbon" or "tap_carbon".
    Raises: ``KeyError`` for another prefix.
    Source: practice figures.

    >>> carbon_effects(())["voc"], carbon_effects(("voc",))["voc"]
    (0.0, 0.7)
    """
    catalytic = figure(DOCUMENT, "carbon_sulphide").value
    return {
        "free_chlorine": certified_fraction("free_chlorine", product_claims, f"{prefix}_free_chlorine"),
        "voc": certified_fraction("voc", product_claims, "carbon_voc"),
        "pfas": certified_fraction("pfas", product_claims, "carbon_pfas"),
        "sulphide": float(catalytic["low"]),
    }


class CarbonTank(MediaTank):
    """A backwashing (or drained) bed of granular carbon."""

    kind = StageKind.CARBON
    purpose = "Takes out taste, smell and chlorine"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """What plugs or coats the grains."""
        return (
            limit("carbon_turbidity_limit", "turbidity", "max", "dirt plugs the pores", hard=False),
            limit("carbon_iron_limit", "iron", "max", "iron coats the grains"),
            cold_limit(),
        )

    def treat(self, water: Water, duty: Duty) -> Water:
        """Chlorine out; organics only where certified; sulphide a trace, more on catalytic carbon."""
        return remove(water, self.most_removed())

    def days_between(self, water: Water, duty: Duty) -> Number:
        """A weekly backwash keeps the bed loose (practice)."""
        return practice("carbon_backwash_every")

    def too_small(self, duty: Duty) -> bool:
        """As a tank, or less contact at peak than either use wants."""
        contact = contact_min(self.media_l, max(duty.peak_l_min, LEAST_FLOW))
        least = min(float(contact_rule(purpose).value) for purpose in ("chlorine", "organics"))
        return super().too_small(duty) or bool(contact < least)

    def most_days(self) -> float:
        """A week."""
        return practice("carbon_backwash_every")

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Those of a tank; contact time at peak; the surface rate."""
        purpose = contact_duty(water, self.product.certified_for)
        contact: Any = contact_min(self.media_l, np.maximum(duty.peak_l_min, LEAST_FLOW))
        wanted = float(contact_rule(purpose).value)
        found = (
            *super().margins(water, duty),
            Margin("carbon_contact", "Contact time at peak flow", contact, wanted, "min", "min"),
        )
        if purpose != "organics":
            return found
        rate, most = duty.peak_l_min / self.area_m2, practice("carbon_flow_limit")
        return (*found, Margin("carbon_rate", "Peak rate through the bed", rate, most, "L/min per m2", "max"))

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """Media by years, water to the drain."""
        wear = self.product.wear
        drains = self.product.ratings["drain_flow_l_min"] > 0
        return Upkeep(
            wear=wear,
            water_l_year=self.drain_litres_year(water, duty) if drains else 0.0,
            power_kwh_year=self.power_kwh_year(duty),
            hours_year=hours_per_year(wear, duty.months_open, duty.daily_l),
        )

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Contact time at peak and mean flow."""
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(
                *self.tank_numbers(),
                Setting(
                    "Contact at peak",
                    scalar(contact_min(self.media_l, max(scalar(duty.peak_l_min), LEAST_FLOW))),
                    "min",
                ),
            ),
            settings=(
                Setting("Backwash every", scalar(self.days_between(water, duty)), "days"),
                *self.tank_settings(),
            ),
            steps=(*contact_steps(self, self.media_l, water, duty), *self.tank_steps(water, duty)),
            findings=carbon_findings(self),
        )

    def rank(self) -> Rank:
        """The bed decides the contact, its medium and claims what it takes out."""
        ratings = self.product.ratings
        like = ("tank", ratings["medium"], self.product.certified_for)
        return Rank(like, (self.media_l, self.area_m2), self.thrift())

    @cached_property
    def _fractions(self) -> dict[str, float]:
        fractions = carbon_effects(self.product.certified_for)
        if self.product.ratings["medium"] == "catalytic_carbon":
            fractions["sulphide"] = float(figure(DOCUMENT, "carbon_sulphide").value["typical"])
        return fractions

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return self._fractions

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Organics want the longer contact."""
        return frozenset(("voc", "pfas"))

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What it takes out."""
        return {code: (code,) for code in ("free_chlorine", "voc", "pfas", "sulphide")}

    def improves(self) -> tuple[str, ...]:
        """Chlorine and sulphide; organics where certified."""
        return carbon_improves(self.product.certified_for)


class CarbonCartridge(Housing):
    """A carbon cartridge on the main line."""

    kind = StageKind.CARBON
    purpose = "Takes out taste, smell and chlorine"

    def feed_limits(self, duty: Duty) -> tuple[FeedLimit, ...]:
        """What plugs or coats the carbon, and its rated flow."""
        return (
            limit("carbon_turbidity_limit", "turbidity", "max", "dirt plugs the pores"),
            limit("carbon_iron_limit", "iron", "max", "iron coats the carbon"),
            self.flow_limit(),
        )

    def treat(self, water: Water, duty: Duty) -> Water:
        """Chlorine out; organics only where certified; of sulphide a trace."""
        return remove(water, self.most_removed())

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Largest flow against rated flow."""
        return (self.flow_margin(duty),)

    def upkeep(self, water: Water, duty: Duty) -> Upkeep:
        """The cartridge by its life rule, and by its rated litres where those run out first."""
        wear = tuple(
            litres_first(part, self.product.ratings["rated_litres"], duty.daily_l, duty) for part in self.product.wear
        )
        return Upkeep(wear=wear, hours_year=hours_per_year(wear, duty.months_open, duty.daily_l))

    def size(self, water: Water, duty: Duty) -> Sizing:
        """Contact time for information; the product's rated flow governs."""
        ratings = self.product.ratings
        peak = loss_step(duty.peak_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], CLEAN_LINEAR)
        return Sizing(
            margins=self.margins(water, duty),
            numbers=(Setting("Rated volume", ratings["rated_litres"], "L", "volume"), self.clear_space()),
            steps=(*contact_steps(self, ratings["media_l"], water, duty), peak),
            findings=carbon_findings(self),
        )

    def rank(self) -> Rank:
        """Its claims decide what it takes out."""
        ratings = self.product.ratings
        like = ("cartridge", self.product.certified_for)
        return Rank(like, (float(ratings["rated_flow_l_min"]), float(ratings["rated_litres"])))

    @cached_property
    def _fractions(self) -> dict[str, float]:
        return carbon_effects(self.product.certified_for, "tap_carbon")

    def most_removed(self) -> Mapping[str, float]:
        """The shares it is reckoned with."""
        return self._fractions

    def heeds(self, *, costs: bool = True) -> frozenset[str]:
        """Nothing but its limits."""
        return frozenset()

    def alters(self) -> Mapping[str, tuple[str, ...]]:
        """What it takes out."""
        return {code: (code,) for code in ("free_chlorine", "voc", "pfas", "sulphide")}

    def improves(self) -> tuple[str, ...]:
        """Chlorine and sulphide; organics where certified."""
        return carbon_improves(self.product.certified_for)


def contact_steps(stage: Stage, media_l: float, water: Water, duty: Duty) -> tuple[Step, ...]:
    """Worksheet lines on empty-bed contact time, at peak and at the mean flow of the day.

    Units: L, L/min, min.
    Range: flows 0 or more.
    Raises: nothing.
    Source: V/Q (computed); the rule wanted names its own.

    >>> from decimal import Decimal
    >>> from sizing.engine.design import Product
    >>> stage = CarbonCartridge(Product("c", StageKind.CARBON, "Carbon", {}, Decimal(1)))
    >>> duty = Duty(38, 20, 600, 38, tuple(range(1, 13)), 8, 276, 414)
    >>> contact_steps(stage, 42.0, Water({}), duty)[0].value
    2.1
    """
    rule = contact_rule(contact_duty(water, stage.product.certified_for))
    mean = duty.daily_l / (24.0 * 60.0)
    return (
        Step(
            "EBCT",
            "Contact time at peak flow",
            scalar(contact_min(media_l, max(scalar(duty.peak_l_min), LEAST_FLOW))),
            "min",
            f"{media_l:g} / {shown(duty.peak_l_min)}",
            "V/Q",
            "computed",
        ),
        Step("EBCT_w", "Contact time wanted", rule.value, "min", "", rule.citation, rule.status),
        Step(
            "EBCT_m",
            "Contact time at mean flow",
            scalar(contact_min(media_l, max(scalar(mean), LEAST_FLOW))),
            "min",
            f"{media_l:g} / ({shown(duty.daily_l, 0)}/1440)",
            "V/Q",
            "computed",
        ),
    )


def carbon_findings(stage: Stage) -> tuple[Finding, ...]:
    """What must be said of carbon: germs grow in it, and a claim wants a test.

    Units: none.
    Range: any carbon stage.
    Raises: nothing.
    Source: 10 NYCRR App. 75-B.2 (published).

    >>> from decimal import Decimal
    >>> from sizing.engine.design import Product
    >>> carbon_findings(CarbonCartridge(Product("c", StageKind.CARBON, "Carbon", {}, Decimal(1))))[0].code
    'carbon_growth'
    """
    return (
        Finding(
            "carbon_growth",
            Severity.HEALTH,
            "Germs grow in carbon once the chlorine is gone.",
            "Disinfect behind it, and renew it on time.",
            "carbon",
            "10 NYCRR App. 75-B.2",
        ),
        *claim_findings(stage),
    )


def carbon_improves(claims: tuple[str, ...]) -> tuple[str, ...]:
    """What carbon on the main line betters.

    Units: analyte codes.
    Range: any claims.
    Raises: nothing.
    Source: practice figures.

    >>> carbon_improves(("voc",))
    ('free_chlorine', 'sulphide', 'voc')
    """
    return ("free_chlorine", "sulphide", *(code for code in ("voc", "pfas") if code in claims))


def build(product: Any) -> Stage:
    """The carbon stage of a product, by its form.

    Units: canonical.
    Range: products with validated ratings.
    Raises: ``KeyError`` where the form is not stated.
    Source: none needed.

    >>> from types import SimpleNamespace
    >>> type(build(SimpleNamespace(ratings={"form": "tank"}))).__name__
    'CarbonTank'
    """
    return CarbonTank(product) if product.ratings["form"] == "tank" else CarbonCartridge(product)
