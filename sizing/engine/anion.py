"""Anion exchange in the chloride form: tannin beds and nitrate beds.

Both take sulphate first and alkalinity too: the run length is set by all anions, not by the one wanted out.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.quantities import L_PER_FT3, L_PER_GALLON, nitrate_as_no3
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import equivalent_weight
from sizing.engine.water import Number


def anion_load(sulphate: Number, nitrate: Number, alkalinity: Number, alkalinity_share: Number | None = None) -> Any:
    """Milliequivalents of anions a chloride-form bed takes out of a litre.

    Why: sulphate and alkalinity use up a tannin or nitrate bed; sizing on nitrate alone overstates the run.
    Units: mg/L sulphate, nitrate as N, alkalinity as CaCO3 in; meq/L out; floats or arrays.
    Range: 0 and more; share of the alkalinity 0 to 1, 0.3 unless told (0.9 on a fresh bed).
    Raises: ``OutsideValidRange`` outside that or not finite.
    Source: equivalent weights (computed); the share is computed from pH after such beds.

    >>> round(anion_load(48.03, 14.007, 0.0), 3)
    2.0
    """
    share = figure("anion-practice", "alkalinity_share").value[1] if alkalinity_share is None else alkalinity_share
    share = within("share of alkalinity", share, low=0.0, high=1.0, unit="fraction")
    return (
        within("sulphate", sulphate, low=0.0, unit="mg/L") / equivalent_weight("sulphate")
        + within("nitrate", nitrate, low=0.0, unit="mg/L as N") / equivalent_weight("nitrate")
        + share * within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3") / equivalent_weight("alkalinity")
    )


def check_anion_capacity(eq_per_l: float) -> float:
    """An entered anion-bed capacity where it is possible at all.

    Why: a leaflet's "840,000 mg/L x gal of nitrate per cubic foot" needs 1.81 eq/L and cannot be.
    Units: eq per L of resin.
    Range: more than 0 and at most 1.4.
    Raises: ``OutsideValidRange`` outside that.
    Source: total capacity of nitrate resins 0.9 to 1.4 eq/L (common practice).

    >>> check_anion_capacity(1.81)
    Traceback (most recent call last):
    ...
    sizing.engine.errors.OutsideValidRange: anion capacity is 1.81, accepted is more than 0 and at most 1.4
    eq/L (total capacity of any nitrate resin)
    """
    highest = figure("anion-practice", "total_capacity").value[1]
    return float(
        within(
            "anion capacity",
            eq_per_l,
            low=0.0,
            high=highest,
            unit="eq/L",
            source="total capacity of any nitrate resin",
            low_open=True,
        )
    )


def capacity_from_claim(mg_l_gal_per_ft3: Number) -> Any:
    """Equivalents per litre implied by a claimed nitrate capacity in mg/L x gal per cubic foot.

    Why: trade sheets claim capacities in this unit; in eq/L they can be checked.
    Units: (mg/L as NO3) x gal per ft3 in, eq/L out; float or array.
    Range: 0 and more. Hand the result to ``check_anion_capacity``.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: unit arithmetic (computed).

    >>> round(capacity_from_claim(840000), 2)
    1.81
    """
    claim = within("claimed capacity", mg_l_gal_per_ft3, low=0.0, unit="mg/L x gal per ft3")
    per_mg = equivalent_weight("nitrate") * float(nitrate_as_no3(1.0))
    return claim * L_PER_GALLON / L_PER_FT3 / per_mg / 1000.0


def nitrate_run(
    resin_l: Number,
    nitrate: Number,
    sulphate: Number,
    alkalinity: Number,
    *,
    eq_per_l: float | None = None,
    alkalinity_share: float | None = None,
) -> Any:
    """Litres a nitrate bed treats before it must regenerate.

    Why: a standard bed run past this point dumps nitrate, above the raw level where sulphate is high; it must
    regenerate by volume well before.
    Units: resin L, mg/L (nitrate as N, alkalinity as CaCO3) in, L out; floats or arrays.
    Range: resin more than 0; capacity at most 1.4 eq/L, 0.3 unless told (the lower published one); some
    exchangeable anion must be there.
    Raises: ``OutsideValidRange`` outside that.
    Source: capacity / total anions (computed); 0.3-0.4 eq/L, Water Air Soil Pollut. 1973 (published).

    >>> round(nitrate_run(28.3, 15.0, 40.0, 150.0))
    3029
    """
    capacity = figure("nitrate-exchange-1973", "operating_capacity").value[0] if eq_per_l is None else eq_per_l
    capacity = check_anion_capacity(capacity)
    resin = within("resin volume", resin_l, low=0.0, unit="L", low_open=True)
    load = anion_load(sulphate, nitrate, alkalinity, alkalinity_share)
    load = within("exchangeable anions", load, low=0.0, unit="meq/L", low_open=True)
    return resin * capacity * 1000.0 / load


def nitrate_dump_limit(nitrate: Number, sulphate: Number, alkalinity: Number, chloride: Number = 0.0) -> Any:
    """The most nitrate an exhausted standard bed can release at once, by charge.

    Why: says how much worse than raw the water may become when a regeneration is missed: it can pass the
    health limit although the raw water does not.
    Units: mg/L (nitrate as N, alkalinity as CaCO3) in, mg/L as N out; floats or arrays.
    Range: 0 and more. A bound, not a forecast.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: effluent charge equals feed charge (computed); dumping: DeSilva 2014 (published).

    >>> round(nitrate_dump_limit(8.0, 100.0, 0.0), 1)
    37.2
    """
    total = anion_load(sulphate, nitrate, alkalinity, 1.0)
    total = total + within("chloride", chloride, low=0.0, unit="mg/L") / equivalent_weight("chloride")
    return total * equivalent_weight("nitrate")


def nitrate_service_flow(resin_l: Number) -> Any:
    """The highest service flow of a nitrate bed.

    Why: faster water leaves the bed with nitrate in it.
    Units: resin L in, L/min out; float or array.
    Range: more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: 4 gpm/ft3 (common practice).

    >>> round(nitrate_service_flow(28.316846592), 1)
    15.1
    """
    resin = within("resin volume", resin_l, low=0.0, unit="L", low_open=True)
    return figure("anion-practice", "nitrate_service_flow").value * L_PER_GALLON * resin / L_PER_FT3


def tannin_run(resin_l: Number, tannin: Number, sulphate: Number = 0.0) -> Any:
    """Litres a tannin bed treats between regenerations, by the one trade rule there is. Low confidence.

    Why: organics differ from site to site; use it as a ceiling beside the interval rule and pilot first.
    Units: resin L, tannin and sulphate mg/L in, L out; floats or arrays.
    Range: resin and tannin more than 0. Sulphate shares the bed: the run halves at 100 mg/L and goes on
    falling as 1 / (1 + SO4/100).
    Raises: ``OutsideValidRange`` outside that.
    Source: 2,100 mg/L x gal per ft3 at 10 lb of salt per ft3 (common practice, single source); halving at
    100 mg/L sulphate (common practice), the curve through it is the engine's own.

    >>> round(tannin_run(28.316846592, 10.0) / 3.785411784)
    210
    """
    resin = within("resin volume", resin_l, low=0.0, unit="L", low_open=True)
    tannin = within("tannin", tannin, low=0.0, unit="mg/L", low_open=True)
    sulphate = within("sulphate", sulphate, low=0.0, unit="mg/L")
    rule = figure("anion-practice", "tannin_throughput").value * L_PER_GALLON / L_PER_FT3
    return rule * resin / tannin / (1.0 + sulphate / figure("anion-practice", "tannin_sulphate").value)


def tannin_interval(run_l: Number, daily_l: Number) -> Any:
    """Days between regenerations of a tannin bed: what the run allows, at most the practice interval.

    Why: left longer, organics set in the bead and the bed is lost, whatever the arithmetic says.
    Units: L and L/d in, days out; floats or arrays.
    Range: more than 0; capped at 4 days. Below 2 days the bed is too small: compare with
    ``tannin_interval_window``.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: every 2 to 4 days (common practice).

    >>> tannin_interval(10000.0, 900.0), round(tannin_interval(1800.0, 900.0), 1)
    (4.0, 2.0)
    """
    run = within("run between regenerations", run_l, low=0.0, unit="L", low_open=True)
    days = run / within("daily volume", daily_l, low=0.0, unit="L/d", low_open=True)
    capped = np.minimum(days, tannin_interval_window()[1])
    return capped if np.ndim(capped) else float(capped)


def tannin_interval_window() -> tuple[float, float]:
    """Shortest and longest sensible interval of a tannin bed.

    Why: the set-up value and the sizing check both need it.
    Units: days.
    Range: none.
    Raises: nothing.
    Source: 2 to 4 days, 3 usual (common practice).

    >>> tannin_interval_window()
    (2.0, 4.0)
    """
    low, _, high = figure("anion-practice", "tannin_interval_days").value
    return low, high


def chloride_added(
    sulphate_removed: Number = 0.0, nitrate_removed: Number = 0.0, alkalinity_removed: Number = 0.0
) -> Any:
    """Chloride an anion bed puts into the water for what it takes out.

    Why: chloride has a taste limit and corrodes; the exchange is one for one in charge.
    Units: mg/L removed (nitrate as N, alkalinity as CaCO3) in, mg/L Cl out; floats or arrays.
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: 0.738 SO4 + 2.531 NO3-N + 0.708 alkalinity, equivalent weights (computed).

    >>> round(chloride_added(sulphate_removed=1.0), 3), round(chloride_added(alkalinity_removed=1.0), 3)
    (0.738, 0.708)
    """
    return equivalent_weight("chloride") * anion_load(sulphate_removed, nitrate_removed, alkalinity_removed, 1.0)


def ph_after_alkalinity_loss(ph: Number, alkalinity_removed_fraction: Number) -> Any:
    """pH behind a chloride-form bed that took a share of the alkalinity and left the carbon dioxide.

    Why: a fresh bed strips bicarbonate first; the water turns acid early in the run and corrodes.
    Units: pH and a fraction in, pH out; floats or arrays.
    Range: pH 5.5 to 8.3 (carbon dioxide and bicarbonate only), fraction 0 to 0.95.
    Raises: ``OutsideValidRange`` outside that.
    Source: pH + log10(1 - fraction) at constant CO2 (computed; within 0.02 of PHREEQC in the tests' waters).

    >>> round(ph_after_alkalinity_loss(7.3, 0.6), 2)
    6.9
    """
    ph = within("pH", ph, low=5.5, high=8.3, source="bicarbonate waters")
    fraction = within("share of alkalinity removed", alkalinity_removed_fraction, low=0.0, high=0.95)
    result = ph + np.log10(1.0 - fraction)
    return result if np.ndim(result) else float(result)


def anion_remarks(nitrate: float, sulphate: float, tannin: float = 0.0, iron: float = 0.0) -> tuple[Finding, ...]:
    """What must be said about an anion bed on this water.

    Why: dumping, sulphate and iron-bound tannin make beds fail in ways a calculation does not show.
    Units: mg/L (nitrate as N).
    Range: 0 and more.
    Raises: ``OutsideValidRange`` below 0 or not finite.
    Source: DeSilva 2014 (published); ratio 6, tannin 0.5 mg/L with iron (common practice).

    >>> [finding.code for finding in anion_remarks(5.0, 200.0)]
    ['anion.sulphate_ratio', 'anion.dumping']
    """
    nitrate = within("nitrate", nitrate, low=0.0, unit="mg/L as N")
    sulphate = within("sulphate", sulphate, low=0.0, unit="mg/L")
    tannin = within("tannin", tannin, low=0.0, unit="mg/L")
    iron = within("iron", iron, low=0.0, unit="mg/L")
    found: list[Finding] = []
    ratio = figure("anion-practice", "sulphate_nitrate_ratio")
    as_ion = float(nitrate_as_no3(nitrate))
    if as_ion > 0 and sulphate / as_ion > ratio.value:
        found.append(
            Finding(
                "anion.sulphate_ratio",
                Severity.EQUIPMENT,
                f"Sulphate is {sulphate / as_ion:.1f} times the nitrate (as NO3) and fills the bed.",
                "Size on total anions, or treat nitrate at the drinking tap.",
                "sulphate",
                ratio.citation,
            )
        )
    if as_ion > 0 and sulphate > 0:
        found.append(
            Finding(
                "anion.dumping",
                Severity.HEALTH,
                "An exhausted standard bed can release nitrate above the raw level.",
                "Regenerate by volume with a reserve and test the treated water for nitrate.",
                "nitrate",
                figure("ion-exchange-nitrates-2014", "selectivity").citation,
            )
        )
    limit = figure("anion-practice", "bound_iron_tannin")
    if tannin > limit.value and iron > 0:
        found.append(
            Finding(
                "anion.bound_iron",
                Severity.EQUIPMENT,
                f"Tannin above {limit.value:g} mg/L holds iron in solution; it passes oxidation and resin.",
                "Take the tannin out (or pilot) before counting on iron removal.",
                "iron",
                limit.citation or limit.status,
            )
        )
    return tuple(found)
