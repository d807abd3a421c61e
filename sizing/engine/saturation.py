"""Whether a water lays down or takes up calcium carbonate: indexes, and the amount."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sizing.engine import carbonate
from sizing.engine.carbonate import System
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.ranges import within
from sizing.engine.stoichiometry import equivalent_weight, molar_mass
from sizing.engine.water import Number, Water


@dataclass(frozen=True)
class SaturationIndex:
    """``index`` = pH - ``langelier_ph``; ``ryznar`` = 2 ``langelier_ph`` - pH.

    ``langelier_ph`` keeps the bicarbonate of the actual pH. ``saturation_ph`` is the pH at which this calcium and
    alkalinity would be saturated; ``None`` where none exists (very soft water). ``form`` says how it was computed.
    """

    index: float
    langelier_ph: float
    ryznar: float
    saturation_ph: float | None
    form: str


def saturation_indices(
    ph: Number, alkalinity: Number, calcium: Number, temperature_c: Number, ionic_strength: Number
) -> Any:
    """Langelier saturation index, rigorous form, for one water or many.

    Why: scale on sleeves, heaters and membranes; corrosion of copper; both start here.
    Units: pH, mg/L as CaCO3, mg/L Ca, degC, mol/L in; index out; floats or equally long arrays.
    Range: pH 4 to 11 (better 6-9), alkalinity and calcium more than 0, 0 to 80 degC, 0 to 0.1 mol/L. The pH must
    be that of the temperature given.
    Raises: ``OutsideValidRange`` outside that, or where hydroxide exceeds the alkalinity.
    Source: pHs = pK2 - pKs + pCa + pHCO3 + 5 pf, Standard Methods 2330 B form (from memory), constants published;
    +0.00 to +0.08 above PHREEQC (computed).

    >>> round(float(saturation_indices(7.3, 250.0, 90.0, 10.0, 0.01093)), 2)
    0.04
    """
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    calcium = within("calcium", calcium, low=0.0, unit="mg/L", low_open=True)
    hco3 = carbonate.speciate(ph, alkalinity, temperature_c, ionic_strength).hco3
    hco3 = within("bicarbonate", hco3, low=0.0, unit="mol/L", low_open=True, source="hydroxide exceeds alkalinity")
    c = carbonate.constants(temperature_c)
    pf = carbonate.activity_exponent(ionic_strength, temperature_c)
    molar_calcium = calcium / molar_mass("Ca") / 1000.0
    return np.asarray(ph) - (c.pk2 - c.pks - np.log10(molar_calcium) - np.log10(hco3) + 5.0 * pf)


def saturation_index(water: Water) -> SaturationIndex:
    """Langelier and Ryznar indexes of a water, rigorous form, with the true saturation pH where one exists.

    Why: the number on the sheet, and an honest "none" for very soft water.
    Units: canonical, single values.
    Range: pH, alkalinity, calcium (or hardness) and temperature measured, and ions, conductivity or TDS; see
    ``saturation_indices``.
    Raises: ``MissingEvidence`` naming what was not measured; ``OutsideValidRange`` outside the method.
    Source: see ``saturation_indices``; Ryznar 2 pHs - pH (published, UFC 3-240-13FN).

    >>> hard = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, conductivity=657.0))
    >>> found = saturation_index(hard)
    >>> round(found.index, 2), round(found.ryznar, 1)
    (0.05, 7.2)
    """
    system = carbonate.system_of(water)
    ph = float(water["ph"])
    calcium = float(system.calcium) * molar_mass("Ca") * 1000.0
    index = float(saturation_indices(ph, water["alkalinity"], calcium, water["temperature"], float(system.strength)))
    return SaturationIndex(
        index=index,
        langelier_ph=ph - index,
        ryznar=ph - 2.0 * index,
        saturation_ph=saturation_ph(system),
        form="rigorous, with activity, no ion pairs",
    )


def saturation_ph(system: System) -> float | None:
    """The pH at which the calcium and alkalinity of a water are just saturated, or ``None``.

    Why: very soft water has none: raising its pH makes hydroxide, not carbonate.
    Units: a ``System`` of single values; pH out.
    Range: searched from pH 5 to 11.5; the first crossing counts.
    Raises: ``OutsideValidRange`` outside the constants.
    Source: mole balance (computed).

    >>> hard = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, tds=437.2))
    >>> round(saturation_ph(carbonate.system_of(hard)), 2)
    7.26
    """
    c = carbonate.constants(system.temperature_c)
    pf = carbonate.activity_exponent(system.strength, system.temperature_c)
    ph = np.linspace(5.0, 11.5, 6501)
    net = system.alkalinity + 10.0 ** (pf - ph) - 10.0 ** (ph + pf - c.pkw)
    hco3 = net / (1.0 + 2.0 * 10.0 ** (ph - c.pk2 + 3.0 * pf))
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = np.log10(np.where(hco3 > 0.0, hco3, np.nan) * system.calcium)
    gap = gap - c.pk2 + c.pks + ph - 5.0 * pf
    over = np.flatnonzero(gap >= 0.0)
    return float(ph[over[0]]) if over.size else None


def langelier_factors(tds: Number, calcium_hardness: Number, alkalinity: Number, temperature_c: Number) -> Any:
    """The A, B, C and D factors of the older saturation pH.

    Why: the worksheet shows them one by one, as the printed tables do.
    Units: mg/L, mg/L as CaCO3 twice, degC in; four dimensionless numbers out; floats or arrays.
    Range: TDS 10 to 10,000 mg/L, calcium hardness and alkalinity more than 0, 0 to 90 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: A = (log10 TDS - 1)/10, B = -13.12 log10(C + 273) + 34.55, C = log10 Ca - 0.4, D = log10 alkalinity
    (published); the printed table of B lies 0.02-0.11 lower.

    >>> [round(float(x), 2) for x in langelier_factors(320.0, 150.0, 34.0, 25.0)]
    [0.15, 2.09, 1.78, 1.53]
    """
    tds = within("dissolved solids", tds, low=10.0, high=10_000.0, unit="mg/L")
    calcium = within("calcium hardness", calcium_hardness, low=0.0, unit="mg/L as CaCO3", low_open=True)
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    temperature = within("temperature", temperature_c, low=0.0, high=90.0, unit="degC")
    _, tds_less, tds_by, slope, offset, kelvin, calcium_less = figure("langelier-factors", "form").value
    return (
        (np.log10(tds) - tds_less) / tds_by,
        slope * np.log10(temperature + kelvin) + offset,
        np.log10(calcium) - calcium_less,
        np.log10(alkalinity),
    )


def langelier_ph(tds: Number, calcium_hardness: Number, alkalinity: Number, temperature_c: Number) -> Any:
    """Saturation pH by the A-B-C-D factors.

    Why: the older form still on many sheets; shown beside the rigorous one, never instead of it.
    Units: mg/L, mg/L as CaCO3 twice, degC in; pHs out; floats or arrays.
    Range: as ``langelier_factors``. Against PHREEQC the index from it runs 0.1 to 0.3 low in cold water and 0.05
    to 0.2 high at 50-80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: pHs = 9.3 + A + B - C - D (published).

    >>> round(langelier_ph(320.0, 150.0, 34.0, 25.0), 2)
    8.23
    """
    a, b, c, d = langelier_factors(tds, calcium_hardness, alkalinity, temperature_c)
    result = figure("langelier-factors", "form").value[0] + a + b - c - d
    return result if np.ndim(result) else float(result)


def practical_equilibrium_ph(alkalinity: Number) -> Any:
    """The pH that a water of some alkalinity usually stands at, for the practical (Puckorius) index.

    Why: a sample's measured pH drifts; this one comes from the alkalinity alone.
    Units: mg/L as CaCO3 in, pH out; float or array.
    Range: alkalinity more than 0.
    Raises: ``OutsideValidRange`` for 0 or less.
    Source: 1.485 log10(alkalinity) + 4.54, UFC 3-240-13FN (published; its table prints 0.04 less).

    >>> round(float(practical_equilibrium_ph(100.0)), 2)
    7.51
    """
    slope, constant = figure("ufc-3-240-13fn", "practical_equilibrium_ph").value
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    return slope * np.log10(alkalinity) + constant


def practical_index(equilibrium_ph: Number, saturated_ph: Number) -> Any:
    """Practical (Puckorius) index: 2 pHs less the equilibrium pH.

    Why: closer to what heaters show than the Ryznar index, which uses the drifting measured pH.
    Units: pH twice in, index out; floats or arrays.
    Range: pH 0 to 14.
    Raises: ``OutsideValidRange`` outside that.
    Source: UFC 3-240-13FN appendix B (published).

    >>> round(practical_index(7.47, 6.77), 2)
    6.07
    """
    return 2.0 * within("saturation pH", saturated_ph, low=0.0, high=14.0) - within(
        "equilibrium pH", equilibrium_ph, low=0.0, high=14.0
    )


def with_calcite(system: System, dissolved: Any) -> System:
    """The system after dissolving (or, negative, precipitating) calcite, closed to air.

    Why: one step of the neutraliser and of the precipitation potential.
    Units: mol/L of CaCO3.
    Range: any amount that leaves calcium, alkalinity and carbon at 0 or more (the caller's care).
    Raises: nothing.
    Source: CaCO3 + CO2 + H2O -> Ca + 2 HCO3, mole balance (computed).

    >>> start = System(0.001, 0.002, 0.0025, 0.003, 10.0)
    >>> with_calcite(start, 0.001).alkalinity
    0.004
    """
    return replace(
        system,
        calcium=system.calcium + dissolved,
        alkalinity=system.alkalinity + 2.0 * dissolved,
        carbon=system.carbon + dissolved,
        strength=np.maximum(system.strength + 3.0 * dissolved, 0.0),
    )


def calcite_to_saturation(system: System) -> tuple[Any, Any]:
    """Calcite that dissolves (positive) or precipitates (negative) until a closed water is saturated, and its pH.

    Why: the end point of a neutraliser bed and the amount of scale a water can make, in one number.
    Units: a ``System`` in; (mol/L CaCO3, pH) out; floats or arrays.
    Range: a water with some calcium or carbon dioxide; pH 4 to 11.5 is searched. An upper limit: real beds stop
    short, and real scale needs a surface and time.
    Raises: ``OutsideValidRange`` outside the constants.
    Source: mole balance with the calcite constant (computed), within 0.05 pH of PHREEQC.

    >>> acid = Water(dict(ph=6.2, alkalinity=30.0, calcium=11.0, temperature=8.0, tds=58.8))
    >>> dissolved, ph = calcite_to_saturation(carbonate.system_of(acid))
    >>> round(float(dissolved) * 100086), round(float(ph), 2)
    (98, 7.75)
    """
    c = carbonate.constants(system.temperature_c)
    shape = np.shape(system.alkalinity + system.carbon + system.calcium + c.pk1)
    dissolved: Any = np.zeros(shape)
    ph: Any = np.zeros(shape)
    for _ in range(6):  # the ionic strength grows with what dissolves
        strength = np.minimum(np.maximum(system.strength + 3.0 * dissolved, 0.0), 0.1)
        pf = carbonate.activity_exponent(strength, system.temperature_c)

        def gap(trial: Any, pf: Any = pf) -> Any:
            amount, carbonate_share = _dissolved_at(trial, system, c, pf)
            co3 = np.maximum((system.carbon + amount) * carbonate_share, 1e-30)
            calcium = np.maximum(system.calcium + amount, 1e-12)
            return np.log10(co3 * calcium) + c.pks - 8.0 * pf

        ph = carbonate.root_in_ph(gap, shape, 4.0, 11.5)
        dissolved, _ = _dissolved_at(ph, system, c, pf)
    return dissolved, ph


def _dissolved_at(ph: Any, system: System, c: carbonate.Constants, pf: Any) -> tuple[Any, Any]:
    """Calcite (mol/L) that must have dissolved for the closed system to stand at a pH, and the carbonate share."""
    per_carbon, share = carbonate.fractions(ph, c, pf)
    water_ions = 10.0 ** (ph + pf - c.pkw) - 10.0 ** (pf - ph)
    return (system.carbon * per_carbon + water_ions - system.alkalinity) / (2.0 - per_carbon), share


def precipitation_potential(water: Water) -> Any:
    """Calcium carbonate precipitation potential: mg/L that would fall out (negative: that would still dissolve).

    Why: an amount says more than an index, above all in soft water.
    Units: canonical water in, mg/L CaCO3 out; float or array.
    Range: as ``carbonate.system_of``; closed system.
    Raises: ``MissingEvidence``, ``OutsideValidRange`` as there.
    Source: mole balance with the calcite constant (computed; 16 mg/L printed by an open package's test).

    >>> ballast = Water(dict(ph=8.0, alkalinity=200.0, calcium=40.0, temperature=25.0, tds=200.0))
    >>> round(precipitation_potential(ballast), 1)
    16.4
    """
    dissolved, _ = calcite_to_saturation(carbonate.system_of(water))
    result = -dissolved * molar_mass("CaCO3") * 1000.0
    return result if np.ndim(result) else float(result)


def calcite_hardness_at(log_pco2: float, temperature_c: float) -> float:
    """Hardness that pure water picks up from limestone at a pressure of carbon dioxide.

    Why: shows how hard a spring or a neutralised water can get, and checks the calcite constant.
    Units: log10 atm, degC in; mg/L as CaCO3 out.
    Range: log pCO2 -5 to 0, 0 to 80 degC.
    Raises: ``OutsideValidRange`` outside that.
    Source: open system, Henry's law and calcite (published constants, computed).

    >>> round(calcite_hardness_at(-2.0, 25.0))
    162
    """
    pressure = float(within("log pCO2", log_pco2, low=-5.0, high=0.0))
    c = carbonate.constants(temperature_c)
    strength = 0.002
    calcium = 0.0
    for _ in range(12):
        pf = carbonate.activity_exponent(strength, temperature_c)
        pf_now = float(pf)

        def spare(ph: Any, pf: float = pf_now) -> Any:
            hco3 = 10.0 ** (c.henry + pressure + ph - c.pk1 + pf)
            co3 = hco3 * 10.0 ** (ph - c.pk2 + 3.0 * pf)
            metal = 10.0 ** (8.0 * pf - c.pks) / co3
            return hco3 + 2.0 * co3 + 10.0 ** (ph + pf - c.pkw) - 10.0 ** (pf - ph) - 2.0 * metal

        ph = carbonate.root_in_ph(spare, ())
        hco3 = 10.0 ** (c.henry + pressure + ph - c.pk1 + pf_now)
        calcium = float(10.0 ** (8.0 * pf_now - c.pks) / (hco3 * 10.0 ** (ph - c.pk2 + 3.0 * pf_now)))
        strength = 3.0 * calcium
    return calcium * molar_mass("CaCO3") * 1000.0


def heated(water: Water, temperature_c: float) -> Water:
    """The same closed water at another temperature: alkalinity and carbon stay, the pH moves.

    Why: an index at 60 degC with the pH of the cold sample overstates scale by 0.2 to 0.3; field pH belongs to
    field temperature.
    Units: canonical water, degC.
    Range: 0 to 80 degC, single values or arrays; as ``carbonate.system_of``.
    Raises: ``MissingEvidence``, ``OutsideValidRange`` as there.
    Source: mole balance (computed).

    >>> cold = Water(dict(ph=7.3, alkalinity=250.0, calcium=90.0, temperature=10.0, conductivity=657.0))
    >>> round(heated(cold, 60.0)["ph"], 1)
    7.1
    """
    system = replace(carbonate.system_of(water), temperature_c=temperature_c)
    return water.with_values(ph=carbonate.closed_ph(system), temperature=temperature_c)


def larson_skold(chloride: Number, sulphate: Number, alkalinity: Number) -> Any:
    """Larson-Skold index: chloride and sulphate against alkalinity.

    Why: corrosion of iron rises with it; anion beds raise it by swapping alkalinity for chloride.
    Units: mg/L, mg/L, mg/L as CaCO3 in; ratio of meq out; floats or arrays.
    Range: alkalinity more than 0, others 0 and more.
    Raises: ``OutsideValidRange`` outside that.
    Source: (Cl + SO4) / alkalinity in meq (published).

    >>> round(larson_skold(100.0, 1.0, 200.0), 1)
    0.7
    """
    alkalinity = within("alkalinity", alkalinity, low=0.0, unit="mg/L as CaCO3", low_open=True)
    salts = within("chloride", chloride, low=0.0, unit="mg/L") / equivalent_weight("chloride") + within(
        "sulphate", sulphate, low=0.0, unit="mg/L"
    ) / equivalent_weight("sulphate")
    return salts / (alkalinity / equivalent_weight("alkalinity"))


def chloride_sulphate_ratio(chloride: Number, sulphate: Number) -> Any:
    """Chloride to sulphate mass ratio.

    Why: a galvanic indicator for lead: brass and solder give more of it where the ratio is high.
    Units: mg/L in, mass ratio out; floats or arrays.
    Range: chloride 0 and more, sulphate more than 0.
    Raises: ``OutsideValidRange`` outside that.
    Source: definition (computed).

    >>> chloride_sulphate_ratio(100.0, 1.0)
    100.0
    """
    chloride = within("chloride", chloride, low=0.0, unit="mg/L")
    return chloride / within("sulphate", sulphate, low=0.0, unit="mg/L", low_open=True)


def index_remark(index: float, ryznar: float) -> Finding:
    """The reading of an index in words.

    Why: the household reads words, not numbers; the band about zero says "near balance".
    Units: Langelier and Ryznar indexes.
    Range: any.
    Raises: nothing.
    Source: +-0.5 about balance, Ryznar 6 neutral, UFC 3-240-13FN (published).

    >>> index_remark(1.2, 5.1).code
    'saturation.scale'
    """
    band = figure("ufc-3-240-13fn", "langelier_band")
    shown = f"saturation index {index:+.1f}, Ryznar {ryznar:.1f}"
    if index > band.value:
        code, words = "scale", "The water lays down scale when it is heated"
    elif index < -band.value:
        code, words = "aggressive", "The water dissolves calcium carbonate and lays down no protecting film"
    else:
        code, words = "balanced", "The water is near balance with calcium carbonate"
    return Finding(
        f"saturation.{code}",
        Severity.NOTE,
        f"{words} ({shown}).",
        "A low index of softened water does not mean acid water: look at its pH." if code == "aggressive" else "",
        "calcium",
        band.citation,
    )
