"""What all beds of media in a pressure tank share: area, backwash, drain, space, pressure loss."""

from __future__ import annotations

import math
from abc import abstractmethod
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any, ClassVar

from sizing.engine.design import Margin, Needs, Setting
from sizing.engine.errors import OutsideValidRange
from sizing.engine.media import Medium, flow_at_rate_l_min, medium, rate_m_h, temperature_factor
from sizing.engine.quantities import M_PER_INCH
from sizing.engine.stages.base import NO_WATER, Duty, FeedLimit, Stage, Upkeep
from sizing.engine.stages.practice_figures import (
    limit,
    loss_at,
    loss_step,
    practice,
    scalar,
    shown,
)
from sizing.engine.stages.ratings import RatingField, bears, flow_and_loss, power
from sizing.engine.water import Number, Water
from sizing.engine.worksheet import Step

BED_LINEAR = 0.3  # share of the rated loss that is the bed, the rest the valve; common practice
WASHES_LIKE = {"catalytic_carbon": "carbon"}


def tank_fields(media: tuple[str, ...]) -> tuple[RatingField, ...]:
    """Ratings of a bed in a tank with a control valve.

    Units: tank sizes in trade inches, the rest canonical.
    Range: that of each field.
    Raises: nothing.
    Source: trade sizes, common practice.

    >>> tank_fields(("carbon",))[3].choices
    ('carbon',)
    """
    return (
        RatingField("tank_diameter_in", "Tank diameter", "nominal", "in", 6.0, 36.0),
        RatingField("tank_height_in", "Tank height", "nominal", "in", 13.0, 84.0),
        RatingField("media_l", "Amount of medium", "volume", "L", 2.0, 500.0),
        RatingField("medium", "Medium", "choice", choices=media),
        *flow_and_loss(),
        RatingField("drain_flow_l_min", "Drain-line flow control", "flow", "L/min", 0.0, 200.0),
        RatingField("rinse_min", "Minutes at drain flow each time", "time", "min", 0.0, 120.0),
        RatingField(
            "valve",
            "Control",
            "choice",
            choices=("demand", "clock", "manual"),
            required=False,
            default="clock",
        ),
        *power(most_w=100.0),
        bears(),
    )


def bed_fits_tank(ratings: Mapping[str, Any]) -> None:
    """Refuses a bed of more than three quarters of its tank: it could not lift.

    Units: L and trade inches.
    Range: ratings with ``media_l``, ``tank_diameter_in``, ``tank_height_in``.
    Raises: ``OutsideValidRange`` naming the medium and what the tank takes.
    Source: room for expansion, common practice.

    >>> bed_fits_tank({"media_l": 42.0, "tank_diameter_in": 10.0, "tank_height_in": 54.0})
    """
    volume = tank_area_m2(ratings["tank_diameter_in"]) * ratings["tank_height_in"] * M_PER_INCH * 1000.0
    if ratings["media_l"] > volume * 0.75:
        raise OutsideValidRange(
            "media_l",
            ratings["media_l"],
            low=2.0,
            high=round(volume * 0.75, 1),
            unit="L",
            source="three quarters of the tank at most, so that the bed can lift",
        )


@cache
def tank_area_m2(diameter_in: float) -> float:
    """Cross-section of a tank from its nominal diameter.

    Units: trade inches in, m2 out.
    Range: above 0.
    Raises: nothing.
    Source: geometry (computed).

    >>> round(tank_area_m2(10.0) / 0.09290304, 4)  # ft2
    0.5454
    """
    return math.pi / 4.0 * (diameter_in * M_PER_INCH) ** 2


def bed_medium(code: str) -> Medium:
    """The practice rates of a bed's medium; catalytic carbon washes like carbon.

    Units: as ``media.Medium``.
    Range: the media of the table.
    Raises: ``OutsideValidRange`` naming them.
    Source: as ``media.medium`` (common practice).

    >>> bed_medium("catalytic_carbon").code
    'carbon'
    """
    return medium(WASHES_LIKE.get(code, code))


@cache
def cold_factor(code: str, temperature_c: float) -> float:
    """Share of the practice backwash rate that lifts a bed at a temperature.

    Units: degC in, fraction out.
    Range: 0 to 40 degC, clipped.
    Raises: ``OutsideValidRange`` for an unknown medium.
    Source: ``media.temperature_factor`` (computed).

    >>> 0.7 < cold_factor("carbon", 5.0) < 1.0
    True
    """
    return float(temperature_factor(code, min(max(temperature_c, 0.0), 40.0)))


def cold_limit() -> FeedLimit:
    """A remark, no refusal, where a bed and its valve meet water colder than their data sheets name.

    Units: degC.
    Range: none.
    Raises: nothing.
    Source: the figure's own (common practice).

    >>> cold_limit().value, cold_limit().hard
    (4.0, False)
    """
    reason = "valves and resin are made for warmer water, and cold slows what a bed does"
    return limit("bed_least_temperature", "temperature", "min", reason, hard=False)


class MediaTank(Stage):
    """A bed in a pressure tank under a control valve."""

    has_salt_tank: ClassVar[bool] = False
    loads_with_dirt: ClassVar[bool] = True

    @property
    def area_m2(self) -> float:
        """Bed cross-section, m2."""
        return tank_area_m2(self.product.ratings["tank_diameter_in"])

    @property
    def media_l(self) -> float:
        """Litres of medium."""
        return float(self.product.ratings["media_l"])

    def least_backwash_l_min(self, duty: Duty) -> Number:
        """Least drain flow that lifts the bed at the coldest water, L/min.

        The medium's low practice rate (common practice) times the factor for cold water (computed by
        ``media``).
        """
        row = bed_medium(self.product.ratings["medium"])
        cold = cold_factor(row.code, round(scalar(duty.temperature_c), 1))
        return float(flow_at_rate_l_min(row.backwash_low_m_h, self.area_m2)) * cold

    @abstractmethod
    def days_between(self, water: Water, duty: Duty) -> Number:
        """Days between backwashes or regenerations at this duty."""

    def cycle_litres(self, water: Water, duty: Duty) -> Number:
        """Water to drain each time, L: drain flow times minutes."""
        ratings = self.product.ratings
        return float(ratings["drain_flow_l_min"] * ratings["rinse_min"])

    def drain_litres_year(self, water: Water, duty: Duty) -> float:
        """Water to drain in a year of use, L."""
        return scalar(self.cycle_litres(water, duty) * duty.operating_days / self.days_between(water, duty))

    def power_kwh_year(self, duty: Duty) -> float:
        """The valve's clock and motor, kWh."""
        return float(self.product.ratings["power_w"] * 24.0 * duty.operating_days / 1000.0)

    def needs(self, water: Water, duty: Duty) -> Needs:
        """Backwash from the pump, a drain with an air gap, room beside and above."""
        drains = self.product.ratings["drain_flow_l_min"] > 0
        return replace(
            self.body(duty),
            backwash_l=scalar(self.cycle_litres(water, duty)),
            backwash_every_days=scalar(self.days_between(water, duty)) if drains else None,
        )

    def body(self, duty: Duty) -> Needs:
        """Its needs but for the volume of a backwash and the days between."""
        ratings = self.product.ratings
        across, side = ratings["tank_diameter_in"] * M_PER_INCH, practice("tank_side_room")
        salt = practice("salt_tank_diameter") + side if self.has_salt_tank else 0.0
        height = ratings["tank_height_in"] * M_PER_INCH
        return Needs(
            backwash_l_min=ratings["drain_flow_l_min"],
            drain=ratings["drain_flow_l_min"] > 0,
            power_w=ratings["power_w"],
            wall_m=across + side + salt,
            depth_m=max(across, practice("salt_tank_diameter") if self.has_salt_tank else 0.0) + side,
            height_m=height + practice("tank_valve_height") + practice("tank_clear_above"),
            holds_litres=max(self.area_m2 * height * 1000.0 - 0.6 * self.media_l, 0.0),
        )

    def loss(self, flow_l_min: Number, *, dirty: bool = False) -> Number:
        """One rated point.

        A bed that loads has lost 5 psi more at rated flow before its backwash.
        """
        ratings = self.product.ratings
        clean = loss_at(flow_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], BED_LINEAR)
        if not (dirty and self.loads_with_dirt):
            return clean
        return clean + loss_at(flow_l_min, ratings["rated_flow_l_min"], practice("bed_dirty_add"), 1.0)

    def too_small(self, duty: Duty) -> bool:
        """Peak flow above the rated one, or a drain flow that does not lift the bed."""
        ratings = self.product.ratings
        drain = ratings["drain_flow_l_min"]
        if duty.peak_l_min > ratings["rated_flow_l_min"]:
            return True
        return bool(drain > 0 and drain < self.least_backwash_l_min(duty))

    def thrift(self) -> tuple[float, float, float]:
        """As merits: little water each time, minutes enough for the well to follow, little power."""
        ratings = self.product.ratings
        drain, minutes = ratings["drain_flow_l_min"], ratings["rinse_min"]
        return -float(drain * minutes), float(minutes), -float(ratings["power_w"])

    @abstractmethod
    def most_days(self) -> float:
        """The longest interval it is ever left between backwashes or regenerations, whatever it is fed."""

    def least_upkeep(self, duty: Duty, least: Water = NO_WATER) -> Upkeep:
        """The clock's power, and the water of the longest interval."""
        cycle = float(self.cycle_litres(NO_WATER, duty))
        return Upkeep(
            water_l_year=cycle * duty.operating_days / self.most_days(), power_kwh_year=self.power_kwh_year(duty)
        )

    def margins(self, water: Water, duty: Duty) -> tuple[Margin, ...]:
        """Backwash the pump can supply, backwash that lifts the bed, and the peak against the rated flow."""
        ratings, kind = self.product.ratings, self.kind.value
        drain = ratings["drain_flow_l_min"]
        margins = [
            Margin(
                f"{kind}_peak",
                "Peak flow against rated flow",
                duty.peak_l_min,
                ratings["rated_flow_l_min"],
                "L/min",
                "max",
                "flow",
            )
        ]
        if drain > 0:
            margins += [
                Margin(
                    f"{kind}_backwash_supply",
                    "Pump flow for the backwash",
                    duty.pump_l_min,
                    drain,
                    "L/min",
                    "min",
                    "flow",
                ),
                Margin(
                    f"{kind}_backwash_lift",
                    "Backwash that lifts the bed",
                    drain,
                    self.least_backwash_l_min(duty),  # type: ignore[arg-type]
                    "L/min",
                    "min",
                    "flow",
                ),
            ]
        return tuple(margins)

    def tank_steps(self, water: Water, duty: Duty) -> tuple[Step, ...]:
        """Worksheet lines on area, peak rate and backwash."""
        ratings = self.product.ratings
        row = bed_medium(ratings["medium"])
        source, status = "media practice", "common practice"
        area, low = self.area_m2, row.backwash_low_m_h
        cold = cold_factor(row.code, round(scalar(duty.temperature_c), 1))
        return (
            Step(
                "A",
                "Tank cross-section",
                area,
                "m2",
                f"pi/4 x ({ratings['tank_diameter_in']:g} in x 0.0254)^2",
                "geometry",
                "computed",
            ),
            Step(
                "v",
                "Peak rate through the bed",
                scalar(rate_m_h(duty.peak_l_min, area)),
                "m/h",
                f"{shown(duty.peak_l_min)} x 0.06 / {area:.4f}; {row.service_high_m_h:.1f} is usual at most",
                source,
                status,
            ),
            Step(
                "q_b",
                "Least backwash that lifts the bed",
                scalar(self.least_backwash_l_min(duty)),
                "L/min",
                f"{low:.1f} m/h x {area:.4f} / 0.06 x {cold:.2f} at {shown(duty.temperature_c)} degC; fitted "
                f"{ratings['drain_flow_l_min']:g}, the pump gives {shown(duty.pump_l_min)}",
                source,
                status,
                "flow",
            ),
            Step(
                "V_b",
                "Water to drain each time",
                scalar(self.cycle_litres(water, duty)),
                "L",
                self.cycle_words(),
                "",
                "computed",
                "volume",
            ),
            loss_step(duty.peak_l_min, ratings["rated_flow_l_min"], ratings["loss_kpa"], BED_LINEAR),
        )

    def cycle_words(self) -> str:
        """The formula of the drain volume, for the worksheet."""
        ratings = self.product.ratings
        return f"{ratings['drain_flow_l_min']:g} L/min x {ratings['rinse_min']:g} min"

    def tank_settings(self) -> tuple[Setting, ...]:
        """Set-up values every control valve wants."""
        ratings = self.product.ratings
        return (
            Setting("Drain-line flow control", ratings["drain_flow_l_min"], "L/min", "flow"),
            Setting("Rinse", ratings["rinse_min"], "min"),
        )

    def tank_numbers(self) -> tuple[Setting, ...]:
        """Sizing numbers worth showing beside the drawing."""
        return (
            Setting("Medium", self.media_l, "L", "volume"),
            Setting("Clear space above", practice("tank_clear_above"), "m", "length"),
        )
