"""What is impossible or doubtful in a set of results, said before anything is sized on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from sizing.engine import balance, carbonate, saturation
from sizing.engine.errors import MissingEvidence, OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.findings import Finding, Severity
from sizing.engine.oxidation import oxygen_saturation
from sizing.engine.water import Water

REJECT = "plausibility.impossible"  # prefix of findings that say: do not size on this


def remarks(water: Water) -> tuple[Finding, ...]:
    """Everything impossible or doubtful in a water's results, impossible first.

    Why: half of all bad designs start with a typing error, a missing ion or an old bottle.
    Units: canonical, single values (arrays of draws are judged by their median).
    Range: any water; a check whose analytes were not measured is left out. Findings whose code starts with
    "plausibility.impossible" should stop a design, the others ask for a second look.
    Raises: nothing.
    Source: each finding names its own.

    >>> [f.code for f in remarks(Water({"iron": 0.5, "iron_dissolved": 2.0}))]
    ['plausibility.impossible.iron']
    """
    single = Water({code: float(np.median(water[code])) for code in water})
    found = [finding for check in _CHECKS for finding in check(single)]
    return tuple(sorted(found, key=lambda f: (not f.code.startswith(REJECT), f.severity.rank)))


def is_usable(water: Water) -> bool:
    """Whether nothing in the results is impossible.

    Why: the gate in front of the design.
    Units: canonical.
    Range: any water.
    Raises: nothing.
    Source: see ``remarks``.

    >>> is_usable(Water({"iron": 0.5, "iron_dissolved": 0.4}))
    True
    """
    return not any(finding.code.startswith(REJECT) for finding in remarks(water))


def _finding(code: str, message: str, what: str, subject: str, source: str, *, impossible: bool = False) -> Finding:
    prefix = REJECT if impossible else "plausibility"
    severity = Severity.EQUIPMENT if impossible else Severity.NOTE
    return Finding(f"{prefix}.{code}", severity, message, what, subject, source)


def _iron(water: Water) -> Iterator[Finding]:
    if "iron" in water and "iron_dissolved" in water and water["iron_dissolved"] > 1.1 * water["iron"]:
        yield _finding(
            "iron",
            f"Dissolved iron {water['iron_dissolved']:g} mg/L is more than total iron {water['iron']:g} mg/L.",
            "Ask the laboratory which bottle was acidified or filtered.",
            "iron_dissolved",
            "a part cannot exceed the whole; 10 % allowed for the two measurements",
            impossible=True,
        )
    oxygen = water.get("dissolved_oxygen")
    dissolved = water.get("iron_dissolved", 0.0)
    if oxygen is not None and oxygen > 2.0 and dissolved > 0.3 and water.get("ph", 0.0) >= 7.0:
        yield _finding(
            "iron_oxygen",
            f"Dissolved iron {dissolved:g} does not last beside {oxygen:g} mg/L of oxygen at pH {water['ph']:g}.",
            "Measure both at the well head again; iron held by tannin would explain it.",
            "iron_dissolved",
            "iron rate law (from memory): half-life of minutes at pH 7 in aerated water",
        )


def _hardness(water: Water) -> Iterator[Finding]:
    if not all(code in water for code in ("hardness", "calcium", "magnesium")):
        if "hardness" in water and "calcium" in water:
            calcium = float(water["hardness"] - balance.hardness_gap(water.with_values(magnesium=0.0)))
            if calcium > 1.1 * water["hardness"] + 2.0:
                yield _finding(
                    "calcium",
                    f"Calcium alone makes {calcium:.0f} mg/L of hardness; {water['hardness']:g} is reported in all.",
                    "Look whether calcium was given as CaCO3, or hardness in grains.",
                    "calcium",
                    "2.497 x Ca (computed)",
                    impossible=True,
                )
        return
    gap = float(balance.hardness_gap(water))
    allowed = 0.1 * water["hardness"] + 5.0
    if abs(gap) > allowed:
        implied = float(water["hardness"]) - gap
        wild = abs(gap) > 0.5 * max(float(water["hardness"]), implied) + 5.0
        yield _finding(
            "hardness",
            f"Hardness {water['hardness']:g} mg/L and that of calcium and magnesium, {implied:.0f}, do not agree.",
            "Look for grains entered as mg/L, or calcium and magnesium given as CaCO3.",
            "hardness",
            "2.497 Ca + 4.118 Mg (computed); 10 % and 5 mg/L allowed",
            impossible=wild,
        )


def _charge(water: Water) -> Iterator[Finding]:
    if not balance.can_balance(water):
        return
    cations, anions = (float(side) for side in balance.ion_sums(water))
    if balance.balance_is_acceptable(cations, anions):
        return
    error = float(balance.charge_balance(water))
    hint = (
        "an anion is too high or a cation is missing" if error < 0 else "a cation is too high or an anion is missing"
    )
    yield _finding(
        "charge",
        f"Cations {cations:.2f} and anions {anions:.2f} meq/L differ by {error:+.1f} %: {hint}.",
        "Ask for the missing ion; look whether alkalinity was given as bicarbonate.",
        "alkalinity",
        figure("analysis-checks", "balance_percent").citation,
        impossible=True,
    )


def _solids(water: Water) -> Iterator[Finding]:
    wide_low, wide_high = figure("analysis-checks", "tds_to_conductivity_wide").value
    low, high = figure("analysis-checks", "tds_to_conductivity").value
    if "tds" in water and water.get("conductivity", 0.0) > 0:
        ratio = float(water["tds"] / water["conductivity"])
        if not low <= ratio <= high:
            yield _finding(
                "tds_conductivity",
                f"Dissolved solids {water['tds']:g} mg/L are {ratio:.2f} of the conductivity "
                f"{water['conductivity']:g} uS/cm; usual is {low:g} to {high:g}"
                f"{'' if wide_low <= ratio <= wide_high else ', so one of them is likely wrong'}.",
                "Many meters compute one from the other; very soft water may lie at 0.47.",
                "tds",
                figure("analysis-checks", "tds_to_conductivity").citation,
            )
    if "tds" in water and balance.can_balance(water):
        total = float(balance.calculated_tds(water))
        share = figure("analysis-checks", "tds_agreement").value
        if total > 0 and abs(water["tds"] - total) > share * total + 10.0:
            yield _finding(
                "tds_ions",
                f"Dissolved solids {water['tds']:g} mg/L and the sum of the ions, {total:.0f}, do not agree.",
                "An ion that was not asked for, or a typing error.",
                "tds",
                figure("analysis-checks", "tds_agreement").citation,
            )


def _carbonate(water: Water) -> Iterator[Finding]:
    if "ph" in water and "alkalinity" in water:
        if water["ph"] < 4.3 and water["alkalinity"] > 2.0:
            yield _finding(
                "alkalinity",
                f"At pH {water['ph']:g} no alkalinity is left; {water['alkalinity']:g} mg/L is reported.",
                "Measure pH in the field and alkalinity again.",
                "alkalinity",
                "end point of the alkalinity titration near pH 4.5 (common practice)",
                impossible=True,
            )
        elif "carbon_dioxide" in water and 5.5 <= water["ph"] <= 8.3 and water["alkalinity"] > 15.0:
            expected = float(carbonate.free_co2(water["ph"], water["alkalinity"], water.get("temperature", 10.0)))
            if not 0.5 * expected - 2.0 <= water["carbon_dioxide"] <= 2.0 * expected + 2.0:
                yield _finding(
                    "carbon_dioxide",
                    f"Carbon dioxide {water['carbon_dioxide']:g} mg/L does not go with pH {water['ph']:g} and "
                    f"alkalinity {water['alkalinity']:g}: about {expected:.0f} is expected.",
                    "Carbon dioxide escapes from the bottle and the pH drifts up: prefer the field pH.",
                    "carbon_dioxide",
                    "0.8795 x alkalinity x 10^(pK1 - pH) (computed), factor 2 allowed",
                )
    if water.get("ph", 7.0) > 8.5 and water.get("carbon_dioxide", 0.0) > 5.0:
        yield _finding(
            "co2_alkaline",
            f"Carbon dioxide {water['carbon_dioxide']:g} mg/L and pH {water['ph']:g} exclude each other.",
            "Measure both again.",
            "carbon_dioxide",
            "free carbon dioxide is gone above pH 8.3 (common practice)",
            impossible=True,
        )


def _optical(water: Water) -> Iterator[Finding]:
    colour, uvt = water.get("colour"), water.get("uvt")
    if uvt is not None and uvt > 95.0 and ((colour or 0.0) > 25.0 or water.get("tannin", 0.0) > 2.0):
        yield _finding(
            "uvt",
            f"A transmittance of {uvt:g} % per cm does not go with this colour or tannin.",
            "Look whether the path length was another, or the sample was taken behind a filter.",
            "uvt",
            "coloured organics absorb at 254 nm (common practice)",
        )
    if "turbidity" in water and water["turbidity"] < 0.5 and water.get("suspended_solids", 0.0) > 20.0:
        yield _finding(
            "turbidity",
            f"Suspended solids {water['suspended_solids']:g} mg/L with turbidity {water['turbidity']:g} NTU.",
            "Look whether dissolved and suspended solids were exchanged.",
            "turbidity",
            "order of magnitude 1-2 mg/L per NTU (common practice)",
        )


def _microbes(water: Water) -> Iterator[Finding]:
    if "e_coli" in water and "total_coliform" in water and water["e_coli"] > water["total_coliform"]:
        yield _finding(
            "coliform",
            f"E. coli {water['e_coli']:g} is more than total coliform {water['total_coliform']:g}.",
            "Treat the sample as positive and repeat it.",
            "e_coli",
            "E. coli are coliforms",
            impossible=False,
        )


def _oxygen(water: Water) -> Iterator[Finding]:
    if "dissolved_oxygen" in water and 0.0 <= water.get("temperature", -1.0) <= 40.0:
        most = float(oxygen_saturation(water["temperature"]))
        if water["dissolved_oxygen"] > 1.3 * most:
            yield _finding(
                "oxygen",
                f"Oxygen {water['dissolved_oxygen']:g} mg/L is far above saturation ({most:.1f} mg/L).",
                "Measure again without bubbles; above saturation only under pressure or in a bloom.",
                "dissolved_oxygen",
                figure("benson-krause-oxygen", "coefficients").citation,
            )
    if water.get("sulphide", 0.0) > 0.1 and water.get("dissolved_oxygen", 0.0) > 2.0:
        yield _finding(
            "sulphide_oxygen",
            f"Sulphide {water['sulphide']:g} and oxygen {water['dissolved_oxygen']:g} mg/L do not last together.",
            "Measure both at the well head.",
            "sulphide",
            "sulphide is oxidised in aerated water (common practice)",
        )
    if water.get("free_chlorine", 0.0) > 0.1 and (
        water.get("sulphide", 0.0) > 0.05 or water.get("iron_dissolved", 0.0) > 0.3
    ):
        yield _finding(
            "chlorine",
            "Free chlorine beside sulphide or dissolved iron: chlorine would have used them up.",
            "Look whether the sample was taken before or behind the feed.",
            "free_chlorine",
            "balanced reactions (computed)",
        )


_CHECKS: tuple[Callable[[Water], Iterator[Finding]], ...] = (
    _iron,
    _hardness,
    _charge,
    _solids,
    _carbonate,
    _optical,
    _microbes,
    _oxygen,
)


def saturation_remark(water: Water) -> Finding | None:
    """A remark where no saturation index can be stated honestly, or ``None``.

    Why: very soft water has no saturation pH; an index computed for it misleads. Softened water shows a low
    index with its pH unchanged: that is not acid water.
    Units: canonical.
    Range: a water with pH, alkalinity, calcium and temperature.
    Raises: nothing; what is missing gives ``None``.
    Source: rigorous index against PHREEQC (computed): below about 12 mg/L alkalinity hydroxide exceeds it first.

    >>> soft = Water({"ph": 6.5, "alkalinity": 8.0, "calcium": 3.2, "temperature": 4.0, "tds": 20.0})
    >>> saturation_remark(soft).code
    'plausibility.no_saturation'
    """
    try:
        index = saturation.saturation_index(water)
    except (MissingEvidence, OutsideValidRange):
        return None
    if index.saturation_ph is not None:
        return None
    return _finding(
        "no_saturation",
        "Soft, aggressive water: no saturation pH exists for so little alkalinity and calcium.",
        "Judge by the calcium carbonate it can still dissolve, not by an index.",
        "alkalinity",
        "computed",
    )
