"""Households written from public guidance: the document, the rule it states in our own words, and what must follow.

"read" = the page or a copy of it was read; "transcribed" = the rule stands in the trade's reference rows with that
document as its source, which was not read again here. Waters and houses are invented; the rules are not.
"""

from dataclasses import dataclass, field, replace

from sizing.engine.design import Fixture, Goals, SourceType, StageKind
from tests.engine.train.households import drilled

K, S = StageKind, SourceType
IRON = {K.AIROX, K.CATALYTIC, K.PERMANGANATE}
FINE = {K.SEDIMENT, K.ULTRAFILTER}
HOLDS = {K.SEDIMENT, K.CARBON, K.BACKWASH, K.ULTRAFILTER}
ALKALI = {K.NEUTRALISER, K.SODA_ASH}


@dataclass(frozen=True)
class Case:
    """``line`` is the best line over the years, place by place, each a set of kinds that the rule leaves open;
    ``others`` are further ways the same guidance allows. ``inside`` must be found in that order in every line
    offered."""

    name: str
    source: SourceType
    document: str
    rule: str
    water: dict
    entry: dict = field(default_factory=dict)
    tap: dict = field(default_factory=dict)
    line: tuple = ()
    others: tuple = ()
    inside: tuple = ()
    soften: str = "all"
    outside: int = 0  # taps out of doors, branched off ahead of the treatment


CLEAR_GROUND = {"temperature": 9.0}
RAIN = {
    "ph": 7.0, "alkalinity": 12.0, "hardness": 12.0, "tds": 40.0, "sodium": 2.0, "chloride": 3.0, "sulphate": 2.0,
    "nitrate": 0.2, "dissolved_oxygen": 9.0, "temperature": 10.0, "turbidity": 0.8, "uvt": 92.0,
}  # fmt: skip
LAKE = {
    **RAIN,
    "alkalinity": 25.0,
    "hardness": 30.0,
    "total_coliform": 40.0,
    "e_coli": 2.0,
    "turbidity": 0.9,
    "uvt": 88.0,
}
GERMS = {"total_coliform": 6.0}

CASES = (
    Case(
        "hard and clear", S.DRILLED_WELL,
        "Oregon State University, Extoxnet, Safe Drinking Water: table of problems and treatments (read)",
        "hard water is the business of a softener",
        {"hardness": 300.0}, {"hardness": 120.0}, line=({K.SOFTENER},),
    ),
    Case(
        "soft hot water only", S.DRILLED_WELL,
        "City of Aurora, Illinois, Educational Considerations Regarding Softeners and Soft Water (read): a softener "
        "on the line to the heater keeps scale out of it and the cold water free of added sodium, with less salt",
        "the softener stands on the hot line; cold water, which people drink, passes it by",
        {"hardness": 300.0}, {"hardness": 120.0}, line=({K.SOFTENER},), soften="hot",
    ),
    Case(
        "hard, with a garden", S.DRILLED_WELL,
        "City of Woodbury, Minnesota, questions and answers, retelling the Minnesota Department of Health (read): "
        "cold kitchen water and outside hose connections are best left unsoftened",
        "outside taps branch off ahead of the softener, and the cold tap stays hard",
        {"hardness": 231.0}, {"hardness": 120.0}, line=({K.SOFTENER},), soften="hot", outside=2,
    ),
    Case(
        "hard with much iron", S.DRILLED_WELL,
        "Illinois 35 IAC 604.805(a) (transcribed)",
        "iron is taken out ahead of the resin (asked from 1 mg/L; the trade's own limit for resin is 3)",
        {"hardness": 325.0, "iron": 4.2, "iron_dissolved": 4.0}, {"hardness": 120.0, "iron": 0.3},
        line=(IRON, {K.SOFTENER}), inside=(IRON | {K.RETENTION}, {K.SOFTENER}),
    ),
    Case(
        "hard with a little dissolved iron", S.DRILLED_WELL,
        "NASD well-water sheet 356-481, quick table (transcribed)",
        "a softener takes small amounts of dissolved iron along",
        {"hardness": 260.0, "iron": 0.8, "iron_dissolved": 0.78, "dissolved_oxygen": 0.2},
        {"hardness": 120.0, "iron": 0.3}, line=({K.SOFTENER},),
    ),
    Case(
        "iron alone, over the aesthetic limit", S.DRILLED_WELL,
        "Penn State Extension, Iron and Manganese in Private Water Systems, as copied in a course text "
        "(read): no more than 0.3 mg/L of iron; Extoxnet table (read): softener or iron filter",
        "iron above 0.3 mg/L is filtered out",
        {"iron": 3.5, "iron_dissolved": 3.3, "hardness": 60.0, "dissolved_oxygen": 1.0}, {"iron": 0.3}, line=(IRON,),
        others=(({K.CHLORINE}, {K.RETENTION}, FINE),), inside=(IRON | {K.RETENTION},),
    ),
    Case(
        "coliforms in a drilled well", S.DRILLED_WELL,
        "US EPA, frequent questions on private wells, no. 15 (read): a disinfection unit at the point of "
        "entry where the trouble comes back; Simcoe Muskoka District Health Unit in a cottage journal (read): "
        "40 mJ/cm2 or more, class A, and a sediment filter of 5 um at the least ahead of it",
        "a fine filter, then a class A UV",
        GERMS, line=(FINE, {K.UV}),
    ),
    Case(
        "coliforms in hard water", S.DRILLED_WELL,
        "B.F. Environmental, factors affecting UV treatment, 2017 (read): below 7 gpg at the lamp, softener, "
        "filter, UV",
        "the softener stands ahead of the UV",
        {**GERMS, "hardness": 260.0}, line=({K.SOFTENER}, FINE, {K.UV}),
    ),
    Case(
        "nitrate", S.DRILLED_WELL,
        "City of Modesto, water questions (read): ion exchange and reverse osmosis take nitrate out, boiling "
        "does not",
        "a membrane at the tap or a nitrate bed, by certified claim, and a warning against boiling",
        {"nitrate": 18.0}, tap={"nitrate": 10.0}, line=({K.RO, K.NITRATE},),
    ),
    Case(
        "nitrate and coliforms", S.DRILLED_WELL,
        "Nebraska Extension G1490 (transcribed)",
        "what feeds a membrane must be free of coliforms: disinfect ahead of it",
        {**GERMS, "nitrate": 18.0}, tap={"nitrate": 10.0}, line=(FINE, {K.UV}, {K.RO}), inside=({K.UV}, {K.RO}),
    ),
    Case(
        "acid, soft", S.DRILLED_WELL,
        "Oregon State University, Extoxnet table (read): low pH, neutralising filter",
        "the pH is raised",
        {"ph": 6.2, "alkalinity": 30.0, "hardness": 38.0}, line=(ALKALI,),
    ),
    Case(
        "acid, hard and iron", S.DRILLED_WELL,
        "UNH WTTAC note on limestone contactors (transcribed): as pretreatment for iron; Illinois 35 IAC "
        "604.805(a)",
        "the pH first, then iron, then hardness",
        {"ph": 6.4, "alkalinity": 90.0, "hardness": 210.0, "iron": 4.2, "iron_dissolved": 4.0},
        {"hardness": 120.0, "iron": 0.3}, line=(ALKALI, IRON, {K.SOFTENER}), inside=(ALKALI, {K.SOFTENER}),
    ),
    Case(
        "iron and rotten eggs", S.DRILLED_WELL,
        "University of Georgia Extension B1563 (transcribed): oxidising filters take iron, manganese and "
        "sulphide; Oregon State University, Extoxnet table (read): an oxidising filter, or chlorine followed "
        "by a filter",
        "one oxidising step and its filter take both",
        {"iron": 3.4, "iron_dissolved": 3.3, "sulphide": 0.2, "hardness": 60.0}, {"iron": 0.3, "sulphide": 0.05},
        line=(IRON,), others=(({K.CHLORINE}, {K.RETENTION}, FINE),), inside=(IRON | {K.CHLORINE},),
    ),
    Case(
        "rotten eggs alone", S.DRILLED_WELL,
        "Oregon State University, Extoxnet table (read): hydrogen sulphide is taken by an oxidising filter, or by "
        "chlorine followed by a filter; NASD well-water sheet (transcribed): the chlorine needs its time",
        "a feed of chlorine alone is no treatment: contact, and a filter or carbon behind it",
        {"sulphide": 1.0, "hardness": 60.0}, {"sulphide": 0.05}, line=({K.CHLORINE}, {K.RETENTION}, HOLDS),
        others=((IRON,), (IRON, {K.CARBON})), inside=(IRON | HOLDS,),
    ),
    Case(
        "iron and sulphide, a light medium at hand", S.DRILLED_WELL,
        "University of Georgia Extension B1563 (transcribed): oxidising filters take sulphide at low levels; trade "
        "practice: none on light coated media, which it fouls",
        "no light coated medium where there is sulphide",
        {"iron": 2.0, "iron_dissolved": 1.9, "sulphide": 0.3, "dissolved_oxygen": 3.0}, {"iron": 0.3},
        line=(IRON,), others=tuple(({K.CHLORINE}, {K.RETENTION}, *coarse, FINE) for coarse in ((), ({K.SEDIMENT},))),
        inside=(IRON | {K.RETENTION},),
    ),
    Case(
        "lead at the tap", S.DRILLED_WELL,
        "Health Canada, Drinking water and health: treatment (read): buy a device certified to the standard "
        "for the claim",
        "only a unit certified for lead, at the drinking tap",
        {"lead": 0.008}, tap={"lead": 0.005}, line=({K.RO, K.TAP_CARBON},),
    ),
    Case(
        "a dug well with a clear sample", S.DUG_WELL,
        "NHMRC, Australian Drinking Water Guidelines 4.3, individual household supplies (read)",
        "shallow groundwater is not used for drinking without treatment, whatever one sample says",
        {"total_coliform": 0.0}, line=(FINE, {K.UV}),
    ),
    Case(
        "a dug well, tea-coloured and hard", S.DUG_WELL,
        "Keller, tannin removal, Water & Wastes Digest (transcribed): below 10 gpg at anion resin; a "
        "supplier's page (read): most tannin units have a softener ahead",
        "soften, then take the tannin out, then disinfect",
        {"hardness": 260.0, "tannin": 1.4, "colour": 40.0, "uvt": 72.0, **GERMS}, {"colour": 15.0},
        line=({K.SOFTENER}, {K.ORGANICS}, FINE, {K.UV}),
    ),
    Case(
        "a dug well with iron", S.DUG_WELL,
        "B.F. Environmental, factors affecting UV treatment, 2017 (read): iron below 0.3 mg/L at the lamp",
        "iron is taken out ahead of the UV",
        {"iron": 4.2, "iron_dissolved": 4.0, **GERMS}, line=(IRON, FINE, {K.UV}),
        others=tuple(({K.CHLORINE}, {K.RETENTION}, *coarse, FINE, {K.UV}) for coarse in ((), ({K.SEDIMENT},))),
        inside=(IRON | {K.RETENTION}, FINE, {K.UV}),
    ),
    Case(
        "a clear lake", S.LAKE,
        "Vermont Department of Health, Drinking Water From Lakes & Rivers (read): filtration, then "
        "disinfection, both; a one-micron filter holds all parasites",
        "a filter that holds cysts, then a class A UV",
        LAKE, line=(FINE, {K.UV}),
    ),
    Case(
        "a tea-coloured lake", S.LAKE,
        "Simcoe Muskoka District Health Unit and others in a cottage journal (read): colour blocks the light, "
        "tannin is taken out ahead",
        "organics before the UV",
        {**LAKE, "tannin": 1.2, "colour": 45.0, "uvt": 68.0}, {"colour": 15.0}, line=({K.ORGANICS}, FINE, {K.UV}),
    ),
    Case(
        "a cloudy river", S.RIVER,
        "Northern Health (BC), quick-reference table, September 2019 (transcribed): 1 NTU or less at the UV; "
        "Vermont Department of Health (read)",
        "a coarser filter or bed, the fine filter, then the UV",
        {**LAKE, "turbidity": 14.0, "suspended_solids": 20.0, "uvt": 86.0}, {"turbidity": 1.0},
        line=({K.BACKWASH}, FINE, {K.UV}), others=(({K.BACKWASH}, {K.SEDIMENT}, FINE, {K.UV}),),
        inside=({K.BACKWASH, K.SEDIMENT}, FINE, {K.UV}),
    ),
    Case(
        "a clear spring", S.SPRING,
        "Westmorland and Furness Council, Managing your private water supply (read): springs are highly "
        "susceptible to contamination",
        "a barrier, whatever one sample says",
        {"total_coliform": 0.0, "hardness": 60.0}, line=(FINE, {K.UV}),
    ),
    Case(
        "an acid spring", S.SPRING,
        "Westmorland and Furness Council (read): pH correction and UV both kept up; 10 NYCRR App. 75-B.2 "
        "(transcribed): disinfection behind what can seed germs",
        "the pH is raised ahead of filter and UV",
        {"ph": 6.2, "alkalinity": 30.0, "hardness": 38.0, **GERMS}, line=(ALKALI, FINE, {K.UV}),
    ),
    Case(
        "a rain cistern", S.CISTERN,
        "University of Washington, rainwater cistern components (read): filters of 20 and 5 um, then UV; US "
        "CDC, cisterns and other rain catchment systems (read): easily contaminated",
        "fine filter, then UV, though no germ was found",
        {**RAIN, "total_coliform": 0.0}, line=(FINE, {K.UV}),
    ),
    Case(
        "a cistern that was chlorinated", S.CISTERN,
        "University of Washington, rainwater cistern components (read): carbon always before disinfection, "
        "never after",
        "carbon, fine filter, UV",
        {**RAIN, "free_chlorine": 1.5}, {"free_chlorine": 0.3}, line=({K.CARBON}, FINE, {K.UV}),
        inside=({K.CARBON}, {K.UV}),
    ),
)  # fmt: skip


def household(case: Case):
    """The case as a request: a house of one and a half bathrooms and a good pump."""
    asked = drilled(**case.water)
    taps = (Fixture("outdoor_tap", case.outside),) if case.outside else ()
    return replace(
        asked,
        source=case.source,
        goals=Goals(case.entry, case.tap, soften=case.soften),
        fixtures=(*asked.fixtures, *taps),
        site=replace(asked.site, outside_untreated=bool(case.outside)),
    )
