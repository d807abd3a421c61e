"""Water paths to draw in tests: invented places, figures for illustration only."""

from __future__ import annotations

from sizing.drawing.values import (
    LedgerRow,
    PathBranch,
    PathPoint,
    PathSource,
    PathStage,
    PathTank,
    PathTaps,
    PumpPlace,
    Reading,
    StageState,
    Standing,
    WaterPath,
    point_letter,
)
from sizing.engine.design import SourceType, StageKind

K, S = StageKind, StageState
HEALTH, AESTHETIC, WITHIN = Standing.HEALTH, Standing.AESTHETIC, Standing.WITHIN
ROWS = (
    LedgerRow("colour", "Colour", "TCU", "at most 15"),
    LedgerRow("turbidity", "Turbidity", "NTU", "1 into UV"),
    LedgerRow("uvt", "Transmittance", "%/cm", "85 into UV"),
    LedgerRow("coliform", "Total coliform", "per 100 mL", "none"),
    LedgerRow("pressure", "Pressure", "kPa at peak flow"),
)


def readings(measured: bool, **values: tuple[str, Standing] | str) -> tuple[Reading, ...]:
    return tuple(
        Reading(
            row,
            held if isinstance(held, str) else held[0],
            measured,
            Standing.NONE if isinstance(held, str) else held[1],
        )
        for row, held in values.items()
    )


def point(gap: int, *held: Reading, day: str = "2 Jun 2026") -> PathPoint:
    return PathPoint(point_letter(gap), held, day.rsplit(" ", 1)[0], day)


def lake_cabin(coliform_at_tap: str = "absent", notice: str = "") -> WaterPath:
    """Six stages, one untreated tap, one polishing unit; every state and every kind of point."""
    bad = coliform_at_tap != "absent"
    stages = (
        PathStage(1, K.BACKWASH, "Backwashing sediment", S.SERVICE, "Oct 2027", "media look"),
        PathStage(2, K.ORGANICS, "Organics unit", S.SOON, "20 Jun 2026", "salt top-up"),
        PathStage(3, K.CARBON, "Carbon", S.UNPROVEN, "16 Jun 2026", "lab sample"),
        PathStage(4, K.SEDIMENT, "Sediment 5 µm", S.SERVICE, "May 2027", "cartridge"),
        PathStage(5, K.RESTRICTOR, "Restrictor 23 L/min", S.SERVICE, "May 2027", "check"),
        PathStage(6, K.UV, "UV", S.OVERDUE, "30 Sep 2025", "lamp, 12 months"),
        PathStage(7, K.RO, "Reverse osmosis", S.LAID, "refit 10 Jun 2026", tap=True),
    )
    points = (
        point(
            0,
            *readings(
                True,
                colour=("48", AESTHETIC),
                turbidity=("3.4", AESTHETIC),
                uvt=("58", AESTHETIC),
                coliform=("120", HEALTH),
                pressure="345",
            ),
        ),
        point(
            1,
            *readings(
                False, colour=("46", AESTHETIC), turbidity=("1.3", AESTHETIC), uvt=("60", AESTHETIC), pressure="331"
            ),
        ),
        point(
            2,
            *readings(False, colour=("7", WITHIN), turbidity=("1.3", AESTHETIC), uvt=("86", WITHIN), pressure="314"),
        ),
        point(
            3,
            *readings(True, colour=("5", WITHIN), turbidity=("1.1", AESTHETIC), uvt=("89", WITHIN)),
            *readings(False, pressure="300"),
        ),
        point(
            4, *readings(False, colour=("5", WITHIN), turbidity=("0.3", WITHIN), uvt=("90", WITHIN), pressure="282")
        ),
        point(
            5,
            *readings(True, turbidity=("0.3", WITHIN), uvt=("90", WITHIN)),
            *readings(False, colour=("5", WITHIN), pressure="268"),
        ),
        point(
            6,
            *readings(
                True,
                colour=("5", WITHIN),
                turbidity=("0.3", WITHIN),
                coliform=(coliform_at_tap, HEALTH if bad else WITHIN),
                pressure="259",
            ),
        ),
    )
    return WaterPath(
        "Water path, Alder Point cabin",
        PathSource(SourceType.LAKE, "Lake intake", "4.2 m deep, jet pump"),
        stages,
        points,
        ROWS,
        PathTank("275–415 kPa", "76 L tank"),
        PathBranch("Outside tap"),
        PathTaps("house", "kitchen, bath", "kitchen"),
        notice=notice,
    )


def one_stage() -> WaterPath:
    return WaterPath(
        "Water path, one stage",
        PathSource(SourceType.LAKE, "Lake intake", "4.2 m deep, jet pump"),
        (PathStage(1, K.UV, "UV", S.OVERDUE, "30 Sep 2025", "lamp, 12 months"),),
        (point(0, *readings(True, colour=("12", WITHIN))), point(1, *readings(True, colour=("11", WITHIN)))),
        ROWS[:1],
        PathTank("275–415 kPa", "76 L tank"),
        taps=PathTaps("house", "kitchen, bath"),
    )


def proposed_well() -> WaterPath:
    """Four stages proposed, two of one side by side, US units, nothing measured after the first point."""
    stages = (
        PathStage(1, K.AIROX, "Air-charged filter", S.PROPOSED, size=("10 × 54 in", "1.5 ft³"), count=2),
        PathStage(2, K.SOFTENER, "Softener", S.PROPOSED, size=("1.5 ft³", "6 lb salt/ft³")),
        PathStage(3, K.SEDIMENT, "Sediment 5 µm", S.PROPOSED, size=("20 × 4.5 in", "pleated")),
        PathStage(4, K.UV, "UV", S.PROPOSED, size=("40 mJ/cm²", "at 8 gpm")),
        PathStage(5, K.RO, "Reverse osmosis", S.PROPOSED, size=("50 gal/day", "with tank"), tap=True),
        PathStage(6, K.TAP_CARBON, "Tap carbon", S.PROPOSED, size=("10 in",), tap=True),
    )
    rows = (
        LedgerRow("iron", "Iron", "mg/L", "0.3"),
        LedgerRow("hardness", "Hardness", "gpg", "3"),
        LedgerRow("nitrate", "Nitrate, as N", "mg/L", "at most 10"),
        LedgerRow("coliform", "Total coliform", "", "none"),
        LedgerRow("pressure", "Pressure", "psi at peak"),
    )
    points = (
        point(
            0,
            *readings(
                True,
                iron=("2.8", AESTHETIC),
                hardness=("19", AESTHETIC),
                nitrate=("14", HEALTH),
                coliform=("present", HEALTH),
                pressure="50",
            ),
            day="27 May 2026",
        ),
        point(1, *readings(False, iron=("0.11", WITHIN), hardness=("19", AESTHETIC), pressure="45")),
        point(2, *readings(False, iron=("0.05", WITHIN), hardness=("1", WITHIN), pressure="41")),
        point(3, *readings(False, iron=("0.04", WITHIN), pressure="40")),
        point(
            4,
            *readings(
                False, iron=("0.04", WITHIN), nitrate=("14", HEALTH), coliform=("by test", WITHIN), pressure="36"
            ),
        ),
    )
    return WaterPath(
        "Water path proposed for Quern Lane",
        PathSource(SourceType.DRILLED_WELL, "Drilled well", "205 ft, pump at 160 ft"),
        stages,
        points,
        rows,
        PathTank("40–60 psi", "44 gal"),
        PathBranch("Yard tap"),
        PathTaps("house", "2 baths", "kitchen"),
        tap_point=point(5, *readings(False, nitrate=("1.6", WITHIN))),
    )


def soft_hot_water() -> WaterPath:
    """A well whose hot water alone is softened: the softener on the hot line, an outside tap ahead of everything."""
    stages = (
        PathStage(1, K.SEDIMENT, "Sediment 5 µm", S.PROPOSED, size=("20 × 4.5 in",)),
        PathStage(2, K.SOFTENER, "Softener, 57 L resin", S.PROPOSED, size=("12 × 52 in",), hot=True),
        PathStage(3, K.RO, "Reverse osmosis", S.PROPOSED, size=("50 gal/day",), tap=True),
    )
    rows = (
        LedgerRow("hardness", "Hardness", "gpg", "3"),
        LedgerRow("nitrate", "Nitrate, as N", "mg/L", "at most 10"),
    )
    hard = readings(False, hardness=("9", AESTHETIC), nitrate=("14", HEALTH))
    return WaterPath(
        "Water path with soft hot water",
        PathSource(SourceType.DRILLED_WELL, "Drilled well", "205 ft"),
        stages,
        (point(0, *hard), point(1, *hard)),
        rows,
        PathTank("40–60 psi", "44 gal"),
        PathBranch("Outside tap"),
        PathTaps("house, not softened", "kitchen, bath, laundry", "kitchen"),
        tap_point=point(2, *readings(False, nitrate=("1.6", WITHIN))),
    )


def nine_stages() -> WaterPath:
    kinds = (
        (K.CHLORINE, "Chlorine feed"),
        (K.RETENTION, "Retention tank"),
        (K.AIROX, "Air-charged filter"),
        (K.NEUTRALISER, "Neutraliser"),
        (K.SOFTENER, "Softener"),
        (K.CARBON, "Carbon"),
        (K.SEDIMENT, "Sediment 5 µm"),
        (K.RESTRICTOR, "Restrictor 23 L/min"),
        (K.UV, "UV"),
    )
    stages = tuple(
        PathStage(k + 1, kind, name, S.SERVICE, "May 2027", "look") for k, (kind, name) in enumerate(kinds)
    )
    points = [point(k) for k in range(10)]
    points[0] = point(0, *readings(True, iron=("3.1", AESTHETIC)))
    points[2] = point(2, *readings(False, iron=("2.9", AESTHETIC)))
    points[5] = point(5, *readings(False, iron=("0.1", WITHIN)))
    points[9] = point(9, *readings(True, iron=("<0.02", WITHIN)))
    return WaterPath(
        "Water path, nine stages",
        PathSource(SourceType.DUG_WELL, "Dug well", "7 m", solar=True),
        (*stages, PathStage(10, K.RO, "Reverse osmosis", S.LAID, "refit 10 Jun 2026", tap=True)),
        tuple(points),
        (LedgerRow("iron", "Iron", "mg/L", "0.1"),),
        PathTank("275–415 kPa", "76 L tank"),
        PathBranch("Outside tap"),
        PathTaps("house", "kitchen, bath", "kitchen"),
    )


def every_kind() -> tuple[WaterPath, ...]:
    """All kinds of stage over three paths, with the sources not drawn elsewhere."""
    kinds = [kind for kind in StageKind if kind not in (K.RO, K.TAP_CARBON)]
    sources = (
        PathSource(SourceType.CISTERN, "Cistern", "roof water, 12 m³"),
        PathSource(SourceType.SPRING, "Spring", "above the house"),
        PathSource(SourceType.RIVER, "River intake", "screened", solar=True),
        PathSource(SourceType.SPRING, "Spring box", "pumped", pump=PumpPlace.FLOOR),
    )
    out = []
    for k in range(0, len(kinds), 6):
        part = kinds[k : k + 6]
        stages = tuple(
            PathStage(n + 1, kind, kind.value.replace("_", " ").capitalize(), S.SERVICE, "May 2027", "look")
            for n, kind in enumerate(part)
        )
        points = tuple(point(n, *readings(n == 0, iron=("0.2", WITHIN))) for n in range(len(stages) + 1))
        out.append(
            WaterPath(
                f"Kinds {k}",
                sources[k // 6],
                stages,
                points,
                (LedgerRow("iron", "Iron", "mg/L", "at most 0.3"),),
                PathTank("275–415 kPa", "76 L tank") if k else None,
            )
        )
    return tuple(out)


def long_names() -> WaterPath:
    """French, long, accented."""
    rows = (
        LedgerRow("a", "Coliformes totaux", "UFC par 100 mL", "aucun, limite de santé"),
        LedgerRow("b", "Transmittance à 254 nm", "% par cm", "au moins 85 à l’entrée de l’UV"),
    )
    stages = (
        PathStage(
            1, K.AIROX, "Filtre oxydant à charge d’air", S.SERVICE, "10 septembre 2026", "contrôle du média filtrant"
        ),
        PathStage(
            2,
            K.ORGANICS,
            "Unité d’élimination des matières organiques",
            S.UNPROVEN,
            "20 novembre 2026",
            "échantillon de laboratoire",
        ),
        PathStage(
            3, K.UV, "Désinfection ultraviolette", S.OVERDUE, "30 septembre 2025", "remplacement annuel de la lampe"
        ),
        PathStage(
            4,
            K.RO,
            "Osmose inverse sous l’évier de la cuisine",
            S.LAID,
            "10 juin 2026",
            "remise en service",
            tap=True,
        ),
    )
    points = tuple(
        point(n, *readings(n in (0, 3), a=("<0,0005", HEALTH), b=("présents", AESTHETIC)), day="27 septembre 2026")
        for n in range(4)
    )
    return WaterPath(
        "Parcours de l’eau, Pointe-aux-Érables",
        PathSource(SourceType.LAKE, "Prise d’eau dans le lac", "à 4,2 m de profondeur, pompe à jet de 750 W"),
        stages,
        points,
        rows,
        PathTank("275–415 kPa", "réservoir de 76 L"),
        PathBranch("Robinet extérieur du jardin", "eau non traitée"),
        PathTaps(
            "toute la maison et l’atelier",
            "cuisine, deux salles de bain, buanderie",
            "cuisine d’été",
            "Robinets d’eau froide",
            "Robinets d’eau chaude",
            "Robinet d’eau potable",
            "chauffe-eau",
        ),
    )
