"""Reverse osmosis at one tap: flux with temperature, pressure, salt and tank; recovery; permeate by ion; storage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.measures import KPA_PER_PSI
from sizing.engine.ranges import within
from sizing.engine.stages.base import FeedLimit
from sizing.engine.water import Number

PRACTICE = "membrane-practice"
COLD_K, WARM_K = figure(PRACTICE, "temperature_constants").value
RATED_PSI, RATED_C, RATED_TDS = figure(PRACTICE, "rated").value


def _out(value: Any) -> Any:
    return value if np.ndim(value) else float(value)


@dataclass(frozen=True)
class Membrane:
    """A membrane as rated: ``rated_l_d`` at ``rated_kpa`` feed against no tank, ``rated_c``, ``rated_tds_mg_l``.

    ``recovery`` is product over feed with the tank bypassed; ``constants_k`` the temperature constants below and
    from 25 degC.
    """

    rated_l_d: float
    rated_kpa: float = RATED_PSI * KPA_PER_PSI
    rated_c: float = RATED_C
    rated_tds_mg_l: float = RATED_TDS
    recovery: float = 0.25
    constants_k: tuple[float, float] = (COLD_K, WARM_K)

    def __post_init__(self) -> None:
        within("rated output", self.rated_l_d, low=0.0, high=20_000.0, unit="L/d", low_open=True)
        within("rated pressure", self.rated_kpa, low=50.0, high=2000.0, unit="kPa")
        within("recovery", self.recovery, low=0.0, high=0.9, low_open=True)


def temperature_factor(temperature_c: Number, constants_k: tuple[float, float] = (COLD_K, WARM_K)) -> Any:
    """Output of a membrane at a temperature as a share of that at 25 degC.

    Why: well water at 10 degC gives little more than half the label.
    Units: degC, float or array; K; returns a fraction.
    Equation: exp(K (1/298 - 1/(273 + T))), K below and from 25 degC.
    Range: 1 to 45 degC.
    Raises: ``OutsideValidRange`` outside.
    Source: membrane temperature table (common practice); tables differ 10 to 20 % when cold, so K is data of the
    membrane.

    >>> round(temperature_factor(10.0), 3)
    0.584
    """
    celsius = np.asarray(within("feed temperature", temperature_c, low=1.0, high=45.0, unit="degC"))
    cold, warm = constants_k
    return _out(np.exp(np.where(celsius < 25.0, cold, warm) * (1 / 298.0 - 1 / (273.0 + celsius))))


def osmotic_kpa(tds_mg_l: Number) -> Any:
    """Osmotic pressure of a fresh water.

    Why: what the feed pressure must overcome before any water passes.
    Units: mg/L, float or array; returns kPa.
    Range: 0 to 10,000 mg/L.
    Raises: ``OutsideValidRange`` outside.
    Source: 1 psi per 100 mg/L (common practice); sodium chloride is 13 % higher.

    >>> round(osmotic_kpa(1000.0) / 6.894757293168, 2)
    10.0
    """
    tds = within("dissolved solids", tds_mg_l, low=0.0, high=10_000.0, unit="mg/L")
    return _out(tds * figure(PRACTICE, "osmotic").value * KPA_PER_PSI)


def feed_side_mean(concentration: Number, recovery: Number) -> Any:
    """Mean concentration along the feed side.

    Why: water is concentrated as product leaves; the membrane sees the mean, not the tap.
    Units: any; recovery a fraction; returns the same unit.
    Equation: C (1 + 1/(1 - Y)) / 2.
    Range: concentration 0 or more; recovery 0 to 0.9.
    Raises: ``OutsideValidRange`` outside.
    Source: arithmetic mean of feed and concentrate (common practice of data normalisation).

    >>> feed_side_mean(400.0, 0.2)
    450.0
    """
    y = within("recovery", recovery, low=0.0, high=0.9)
    return _out(within("concentration", concentration, low=0.0) * (1.0 + 1.0 / (1.0 - y)) / 2.0)


def driving_kpa(
    feed_kpa: Number,
    tds_mg_l: Number,
    *,
    tank_kpa: Number = 0.0,
    recovery: Number = 0.25,
    permeate_tds_mg_l: Number | None = None,
) -> Any:
    """Net driving pressure across the membrane.

    Why: a storage tank pushes back: the last litres come slowly.
    Units: kPa gauge, mg/L, kPa gauge in the tank, fraction, mg/L (``None`` = 5 % of the feed); returns kPa, at
    least 0.
    Equation: feed - tank - osmotic(mean feed side - permeate).
    Range: pressures 0 to 2,000 kPa; salt 0 to 10,000 mg/L.
    Raises: ``OutsideValidRange`` outside.
    Source: net driving pressure of data normalisation (common practice).

    >>> psi = 6.894757293168
    >>> round(driving_kpa(45 * psi, 400.0, tank_kpa=20 * psi, recovery=0.2, permeate_tds_mg_l=20.0) / psi, 1)
    20.7
    """
    feed = within("feed pressure", feed_kpa, low=0.0, high=2000.0, unit="kPa")
    tank = within("tank pressure", tank_kpa, low=0.0, high=2000.0, unit="kPa")
    tds = within("dissolved solids", tds_mg_l, low=0.0, high=10_000.0, unit="mg/L")
    product = 0.05 * tds if permeate_tds_mg_l is None else permeate_tds_mg_l
    slope = figure(PRACTICE, "osmotic").value * KPA_PER_PSI
    osmotic = slope * np.maximum(np.asarray(feed_side_mean(tds, recovery)) - product, 0.0)
    return _out(np.maximum(feed - tank - osmotic, 0.0))


def output_l_d(
    membrane: Membrane, feed_kpa: Number, temperature_c: Number, tds_mg_l: Number, *, tank_kpa: Number = 0.0
) -> Any:
    """Water a membrane makes in a day as fed.

    Why: a 50 gallon membrane on cold well water at household pressure gives about ten.
    Units: kPa gauge, degC, mg/L, kPa gauge in the tank; floats or arrays; returns L/d.
    Equation: rated output x driving pressure / driving pressure at rating x temperature factor (relative to
    rating).
    Range: as ``driving_kpa`` and ``temperature_factor``.
    Raises: ``OutsideValidRange`` outside.
    Source: linear flux (common practice); temperature table (common practice).

    >>> psi, gal = 6.894757293168, 3.785411784
    >>> made = output_l_d(Membrane(50 * gal, 60 * psi, recovery=0.2), 45 * psi, 10.0, 400.0, tank_kpa=20 * psi)
    >>> round(made / gal, 1)
    10.5
    """
    now = driving_kpa(feed_kpa, tds_mg_l, tank_kpa=tank_kpa, recovery=membrane.recovery)
    rated = driving_kpa(membrane.rated_kpa, membrane.rated_tds_mg_l, recovery=0.0)
    warm = temperature_factor(temperature_c, membrane.constants_k) / temperature_factor(
        membrane.rated_c, membrane.constants_k
    )
    return _out(membrane.rated_l_d * np.asarray(now) / rated * warm)


def shut_off_kpa(feed_kpa: Number) -> Any:
    """Tank pressure at which the shut-off valve stops production.

    Why: the tank is full long before it reaches the feed pressure.
    Units: kPa gauge; float or array.
    Range: 0 to 2,000 kPa.
    Raises: ``OutsideValidRange`` outside.
    Source: about two thirds of feed (common practice).

    >>> round(shut_off_kpa(60 * 6.894757293168) / 6.894757293168)
    40
    """
    return _out(
        within("feed pressure", feed_kpa, low=0.0, high=2000.0, unit="kPa") * figure(PRACTICE, "shut_off").value
    )


def mean_output_l_d(membrane: Membrane, feed_kpa: Number, temperature_c: Number, tds_mg_l: Number) -> Any:
    """Output while the tank fills from empty to shut-off: the mean over that back-pressure.

    Why: the honest daily figure for a unit with a storage tank.
    Units: kPa gauge, degC, mg/L; floats or arrays; returns L/d.
    Equation: output at the mean of the empty charge and the shut-off pressure (flux is linear in it).
    Range: as ``output_l_d``.
    Raises: ``OutsideValidRange`` outside.
    Source: as ``output_l_d``; empty charge 7 psi (common practice).

    >>> psi = 6.894757293168
    >>> 0 < mean_output_l_d(Membrane(190.0), 45 * psi, 10.0, 400.0) < 190.0
    True
    """
    empty = figure(PRACTICE, "tank_charge").value[1] * KPA_PER_PSI
    tank = (np.minimum(empty, shut_off_kpa(feed_kpa)) + shut_off_kpa(feed_kpa)) / 2.0
    return output_l_d(membrane, feed_kpa, temperature_c, tds_mg_l, tank_kpa=_out(tank))


def rejection(ion: str, *, level: str = "low") -> float:
    """Share of an ion a household membrane holds back.

    Why: nitrate and other health contaminants are judged on the low field value, never on the list.
    Units: fraction; ``level`` "low", "typical" or "list".
    Range: the ions of the table; dissolved gases pass: 0.
    Raises: ``OutsideValidRange`` naming the ions.
    Source: trade list (common practice), field values partly from memory; gases not removed (published).

    >>> rejection("nitrate"), rejection("nitrate", level="list"), rejection("sulphide")
    (0.7, 0.95, 0.0)
    """
    if level not in ("low", "typical", "list"):
        raise OutsideValidRange("level", level, source="low, typical or list")
    if ion in figure(PRACTICE, "not_removed").value:
        return 0.0
    rows = figure(PRACTICE, "rejection").value
    if ion not in rows:
        raise OutsideValidRange("ion", ion, source=f"one of {', '.join(rows)}")
    return float(rows[ion][("low", "typical", "list").index(level)])


def permeate(concentration: Number, rejected: Number, recovery: Number) -> Any:
    """Concentration in the product water.

    Why: what the tap will give for each ion.
    Units: any; fractions; floats or arrays; returns the same unit.
    Equation: (1 - R) x mean feed-side concentration, never more than the feed itself.
    Range: concentration 0 or more; rejection 0 to 1; recovery 0 to 0.9.
    Raises: ``OutsideValidRange`` outside.
    Source: solution-diffusion with a mean feed side (common practice of data normalisation).

    >>> round(permeate(400.0, 0.95, 0.25), 2)
    23.33
    """
    feed = within("concentration", concentration, low=0.0)
    held = within("rejection", rejected, low=0.0, high=1.0)
    return _out(np.minimum((1.0 - held) * np.asarray(feed_side_mean(feed, recovery)), feed))


def concentrate(concentration: Number, product: Number, recovery: Number) -> Any:
    """Concentration in the reject water, by mass balance.

    Why: hard feed scales the membrane as it is concentrated, and the reject goes to the septic tank.
    Units: any; fraction; returns the same unit.
    Equation: (C - Y Cp) / (1 - Y).
    Range: as ``permeate``; product at most the feed.
    Raises: ``OutsideValidRange`` outside.
    Source: mass balance (computed).

    >>> concentrate(400.0, 20.0, 0.5)
    780.0
    """
    y = within("recovery", recovery, low=0.0, high=0.9)
    feed = within("concentration", concentration, low=0.0)
    return _out((feed - y * within("product concentration", product, low=0.0)) / (1.0 - y))


def permeate_ph(ph: Number, alkalinity: Number, permeate_alkalinity: Number) -> Any:
    """pH of the product water: the gas passes, the bicarbonate stays behind.

    Why: it comes out acid and soft: keep it off copper pipe.
    Units: pH; alkalinities mg/L as CaCO3; floats or arrays.
    Equation: pH + log10(product alkalinity / feed alkalinity), carbon dioxide unchanged.
    Range: pH 5 to 9; alkalinities more than 0.
    Raises: ``OutsideValidRange`` outside.
    Source: carbonate equilibrium (computed).

    >>> round(permeate_ph(7.3, 250.0, 12.0), 1)
    6.0
    """
    feed = np.asarray(within("alkalinity", alkalinity, low=0.0, unit="mg/L", low_open=True))
    product = np.asarray(
        within("alkalinity of the product", permeate_alkalinity, low=0.0, unit="mg/L", low_open=True)
    )
    return _out(within("pH", ph, low=5.0, high=9.0) + np.log10(product / feed))


def efficiency(reject_per_product: Number) -> Any:
    """Product over all water taken, from the reject ratio.

    Why: the efficiency (with tank and valve, over a day) is always less than the recovery (tank bypassed).
    Units: litres rejected per litre made; returns a fraction.
    Range: 0 to 100.
    Raises: ``OutsideValidRange`` outside.
    Source: 1 / (1 + r) (computed).

    >>> round(efficiency(5.0), 4)
    0.1667
    """
    return _out(1.0 / (1.0 + within("reject per product", reject_per_product, low=0.0, high=100.0)))


def feed_limits() -> tuple[FeedLimit, ...]:
    """Limits on the water entering a household reverse-osmosis unit.

    Why: hardness, iron and chlorine ruin the membrane; bacteria grow in its tank.
    Units: canonical units of the analytes.
    Range: none; limits only.
    Raises: nothing.
    Source: trade practice (common practice); coliform-free feed (published); chlorine from memory.

    >>> [round(limit.value) for limit in feed_limits() if limit.analyte == "hardness"]
    [171]
    """
    rows = (
        ("tds", "feed_tds", "osmotic pressure takes what the house can give", True),
        ("hardness", "feed_hardness", "scale on the membrane", True),
        ("iron", "feed_iron", "iron fouls the membrane", True),
        ("manganese", "feed_manganese", "manganese fouls the membrane", True),
        ("sulphide", "feed_sulphide", "it passes, and sulphur fouls", False),
        ("free_chlorine", "feed_chlorine", "chlorine destroys thin-film membranes", True),
        ("total_coliform", "feed_coliform", "the feed must be free of coliform", True),
        ("e_coli", "feed_coliform", "the feed must be free of coliform", True),
    )
    return tuple(
        FeedLimit(analyte, "max", row.value, reason, f"{row.citation} ({row.status})", hard)
        for analyte, key, reason, hard in rows
        for row in (figure(PRACTICE, key),)
    )
