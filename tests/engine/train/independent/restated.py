"""The figures the inspector works with, written out a second time with where each stands.

Status of each: P published, C computed, CP common practice, M from memory. Nothing here is read from the engine.
"""

from sizing.engine.design import SourceType, StageKind

K = StageKind

# Units (exact or computed).
PSI = 6.894757293168  # kPa
GAL = 3.785411784  # L
IN = 0.0254  # m
FT2 = 0.09290304  # m2
FT3 = 28.316846592  # L
GPG = 17.118  # mg/L as CaCO3
LB = 0.45359237  # kg
GRAIN = 0.06479891  # g

SURFACE = {SourceType.LAKE, SourceType.RIVER, SourceType.CISTERN}
INFLUENCED = {SourceType.SPRING, SourceType.DUG_WELL}
COLDEST = {  # degC, taken where no temperature was measured (CP)
    SourceType.DRILLED_WELL: 8.0, SourceType.DUG_WELL: 5.0, SourceType.SPRING: 5.0, SourceType.LAKE: 2.0,
    SourceType.RIVER: 1.0, SourceType.CISTERN: 4.0,
}  # fmt: skip

# Class A barrier, NSF/ANSI 55 as summarised in trade journals (P, second-hand).
CLASS_A, CLASS_B = 40.0, 16.0
# Log credits of a validated dose, mJ/cm2: EPA 815-R-20-003 Table B-9 (P; first Giardia cell M).
STEPS = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0)
UV_DOSE = {
    "cryptosporidium": (1.6, 2.5, 3.9, 5.8, 8.5, 12.0, 15.0, 22.0),
    "giardia": (1.5, 2.1, 3.0, 5.2, 7.7, 11.0, 15.0, 22.0),
    "virus": (39.0, 58.0, 79.0, 100.0, 121.0, 143.0, 163.0, 186.0),
}
# CT for 4 log of virus, free chlorine, pH 6 to 9, by degC: EPA 815-R-20-003 Table B-2 (P).
VIRUS_CT = ((0.5, 12.0), (5.0, 8.0), (10.0, 6.0), (15.0, 4.0), (20.0, 3.0), (25.0, 2.0))
# Logs wanted by class of source. Surface water and groundwater under its influence: 40 CFR 141.70 and 141.700 as
# retold in the EPA manual (3 Giardia, 4 virus, 2 Cryptosporidium); groundwater with a fecal find: 4 virus (P).
WANTED = {
    "surface": {"giardia": 3.0, "cryptosporidium": 2.0, "virus": 4.0},
    "influenced": {"giardia": 3.0, "cryptosporidium": 2.0, "virus": 4.0},
    "ground, germs found": {"virus": 4.0},
    "ground": {},
}

# What a rule asks of surface water and groundwater under its influence: (Cryptosporidium, Giardia, viruses), logs.
# 40 CFR 141.70 (P; Cryptosporidium M); Health Canada, enteric protozoa and viruses, 2019 (P); Quebec Q-2 r. 40 s. 5.1
# by E. coli up to 15, 150, 1,500 per 100 mL and above (P). Groundwater with germs found: 4 log of viruses by all (M).
RULES = {"us_public": (2.0, 3.0, 4.0), "health_canada": (3.0, 3.0, 4.0)}
QUEBEC = ((15.0, (3.0, 3.0, 4.0)), (150.0, (3.0, 4.0, 5.0)), (1500.0, (4.0, 5.0, 6.0)), (1e9, (5.0, 6.0, 7.0)))
CYST_LOGS = 3.0  # an absolute or certified filter for cysts (CP); of several in a row one counts (judgement)

# Counted only where the product's certified claim covers it (rule of the trade, job rule 4).
CERTIFIED = ("nitrate", "nitrite", "arsenic", "lead", "uranium", "fluoride", "pfas", "radium", "radon")

# Feed limits, canonical units: kind -> (analyte, sense, value). Rows of the trade, CP unless marked.
IRON_FILTER = (("ph", "min", 6.8), ("iron", "max", 10.0), ("tannin", "max", 0.5), ("sulphide", "max", 2.0))
ANION = (("hardness", "max", 10.0 * GPG + 0.01), ("iron", "max", 0.3), ("free_chlorine", "max", 0.1))
FEED = {
    K.SEDIMENT: (("turbidity", "max", 10.0),),
    K.NEUTRALISER: (("ph", "min", 6.0),),
    K.SODA_ASH: (("ph", "min", 4.0),),
    K.AIROX: IRON_FILTER,
    K.CATALYTIC: IRON_FILTER,
    K.PERMANGANATE: IRON_FILTER,
    K.CHLORINE: (("tannin", "max", 1.0),),  # P: Keller, WC&P 2002 (risk); value CP
    K.SOFTENER: (
        ("iron", "max", 3.0), ("manganese", "max", 0.5), ("turbidity", "max", 5.0),  # P: Ten States 4.4.2.1
        ("sulphide", "max", 0.5),
    ),
    K.ORGANICS: ANION,  # P: Keller, 10 gpg
    K.NITRATE: (*ANION, ("manganese", "max", 0.05)),
    K.CARBON: (("iron", "max", 0.3),),
    K.ULTRAFILTER: (("turbidity", "max", 1.0), ("free_chlorine", "max", 5.0)),
    K.UV: (
        ("hardness", "max", 120.0), ("iron", "max", 0.3), ("manganese", "max", 0.05), ("turbidity", "max", 1.0),
        ("sulphide", "max", 0.05),  # M
        ("suspended_solids", "max", 10.0),
    ),
    K.RO: (
        ("hardness", "max", 10.0 * GPG + 0.01), ("iron", "max", 0.1), ("manganese", "max", 0.05),
        ("free_chlorine", "max", 0.1), ("tds", "max", 1500.0),
        ("total_coliform", "max", 0.0), ("e_coli", "max", 0.0),  # P: Nebraska Extension G1490
    ),
    K.TAP_CARBON: (("turbidity", "max", 1.0), ("total_coliform", "max", 0.0), ("e_coli", "max", 0.0)),
}  # fmt: skip
# Chlorine turns these to particles (mg/L from which a filter behind the contact is wanted); Extoxnet: chlorine,
# then a filter (P); the values are the smell of sulphide and the aesthetic limits (CP).
TURNED_SOLID = {"sulphide": 0.05, "iron": 0.3, "manganese": 0.05}
HOLDS_SOLIDS = (K.SEDIMENT, K.BACKWASH, K.AIROX, K.CATALYTIC, K.PERMANGANATE, K.CARBON, K.ULTRAFILTER)
LIGHT = (("sulphide", "max", 0.0), ("free_chlorine", "max", 0.5))  # what a light coated iron medium bears (CP)
BED_COLD = 4.0  # degC, data sheets of softeners; colder is remarked on (CP)
SODA_ASH_MOST = 100.0  # mg/L, NSF/ANSI/CAN 60 (M)
SODIUM_DIET, SODIUM_TASTE = 20.0, 200.0  # mg/L: EPA advisory (M); Health Canada, aesthetic (P)
MEMBRANE_FEED = 40.0 * PSI  # least pressure of a household membrane where none is rated (CP)
# Limits that may be passed but must then be remarked on.
ADVISED = {
    K.SEDIMENT: (("turbidity", "max", 1.0, "fine"),),
    K.CARBON: (("turbidity", "max", 1.0, "tank"),),
    K.SOFTENER: (("free_chlorine", "max", 1.0),),
    K.NEUTRALISER: (("turbidity", "max", 1.0), ("calcium", "max", 60.0), ("alkalinity", "max", 100.0)),  # P: UNH
    K.ORGANICS: (("sulphate", "max", 100.0),),
    K.UV: (("tannin", "max", 0.1), ("ph", "min", 6.5), ("ph", "max", 9.5)),
    K.RO: (("sulphide", "max", 0.0), ("temperature", "min", 4.0), ("temperature", "max", 29.0)),
}
# What must have been measured before the stage may be counted on.
MEASURED = {
    K.UV: ("uvt", "turbidity", "hardness", "iron"),
    K.SOFTENER: ("hardness",),
    K.ORGANICS: ("hardness", "tannin"),
    K.NITRATE: ("hardness", "iron", "nitrate", "sulphate"),
    K.NEUTRALISER: ("ph", "alkalinity", "hardness"),
    K.SODA_ASH: ("ph", "alkalinity"),
    K.AIROX: ("ph", "iron"),
    K.CATALYTIC: ("ph", "iron", "dissolved_oxygen"),
    K.PERMANGANATE: ("ph", "iron"),
    K.CHLORINE: ("ph",),
}

BEDS = (
    K.BACKWASH, K.NEUTRALISER, K.AIROX, K.CATALYTIC, K.PERMANGANATE, K.SOFTENER, K.ORGANICS, K.NITRATE,
)  # fmt: skip
SALT = (K.SOFTENER, K.ORGANICS, K.NITRATE)
HOUSED = (K.SEDIMENT, K.SCREEN, K.TAP_CARBON)  # and carbon cartridges

# Least backwash by medium, US gpm/ft2 at 15 degC (CP: trade practice by medium).
BACKWASH = {
    "softening_resin": 5.0, "anion_resin": 2.0, "carbon": 8.0, "catalytic_carbon": 8.0, "light_oxidation": 10.0,
    "greensand": 8.0, "coated_silica": 12.0, "manganese_ore": 25.0, "multilayer": 15.0, "zeolite": 12.0,
    "calcite": 8.0, "calcite_magnesia": 10.0,
}  # fmt: skip

# Space with service clearance, m (CP).
SUMP, VALVE, ABOVE, SIDE, SALT_TANK = 0.1, 0.2, 0.3, 0.1, 0.46

# Loss: share of the rated loss that is linear; what dirt adds (CP). Cartridges are changed at 10 psi, a bed takes 5
# psi more at rated flow before its backwash, fibres twice their clean loss.
LINEAR = {"bed": 0.3, "housing": 0.4, "fibres": 1.0, "ports": 0.0}
CHANGE_AT, BED_DIRT = 10.0 * PSI, 5.0 * PSI

# Bore, in: ASTM B88 type L and F876 (P, tables as transcribed); roughness, mm (M).
BORE = {
    ("copper", "3/4"): 0.785, ("copper", "1"): 1.025, ("copper", "1-1/4"): 1.265, ("pex", "3/4"): 0.671,
    ("pex", "1"): 0.862, ("pvc", "1"): 1.049, ("pvc", "1-1/4"): 1.380,
}  # fmt: skip
ROUGH = 0.0015

# Peak Water Demand Study 2017, recommended p and q (P, secondary copy): code -> (p, gpm).
FIXTURES = {
    "bath_shower": (0.055, 5.5), "shower": (0.045, 2.0), "lavatory": (0.02, 1.5), "toilet": (0.01, 3.0),
    "kitchen_faucet": (0.02, 2.2), "clothes_washer": (0.055, 3.5), "dishwasher": (0.005, 1.3),
    "outdoor_tap": (None, 5.0),  # left running; the code's flow at a hose bibb
}  # fmt: skip

# Hard rules of order, "the first stands before the second", written out (status of each row of the trade's table).
_MEDIA = (
    "backwash",
    "neutraliser",
    "airox",
    "catalytic",
    "permanganate",
    "softener",
    "organics",
    "nitrate",
    "carbon",
)
_IRON = ("airox", "catalytic", "permanganate")
BEFORE = {
    ("chlorine", "retention"),
    *(("retention", iron) for iron in _IRON),  # P: Oklahoma OAC 252:626-9-7
    *(("neutraliser", iron) for iron in _IRON),  # P: UNH WTTAC note
    *((iron, "softener") for iron in _IRON),  # P: Illinois 35 IAC 604.805(a)
    ("neutraliser", "softener"),
    ("softener", "organics"),  # P: Keller
    ("softener", "nitrate"),
    *((stage, "uv") for stage in _MEDIA),  # carbon P: 10 NYCRR App. 75-B.2
    ("fine", "uv"), ("coarse", "uv"), ("coarse", "fine"), ("screen", "uv"), ("restrictor", "uv"),
    ("chlorine", "carbon"), ("retention", "carbon"),
    *((iron, bed) for iron in _IRON for bed in ("organics", "nitrate", "ro")),
    *(("soda_ash", iron) for iron in _IRON),
    ("softener", "ro"), ("carbon", "ro"), ("coarse", "ultrafilter"),
    *((main, tap) for main in (*_MEDIA, "fine", "coarse", "uv", "ultrafilter") for tap in ("ro", "tap_carbon")),
}  # fmt: skip
SHEDS = (*BEDS, K.CARBON, K.RETENTION)  # nothing of these between the fine filter and the lamp
