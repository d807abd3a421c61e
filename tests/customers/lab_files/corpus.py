"""Sixty-odd laboratory files, each with what the laboratory means by it.

Conversions are worked here from atomic weights (IUPAC: N 14.007, O 15.999, Ca 40.078, C 12.011, H 1.008, S 32.06,
Si 28.085) and from 1 gpg = 64.79891 mg / 3.785411784 L, not with the project's own functions.
"""

from __future__ import annotations

from datetime import datetime

from tests.customers.lab_files.build import (
    ABSENT,
    DAY,
    PRESENT,
    Case,
    below,
    bomb,
    book,
    csv,
    is_,
    long,
    no_workbook,
    noon,
)

NO3 = 14.007 + 3 * 15.999
NO2 = 14.007 + 2 * 15.999
NH4 = 14.007 + 4 * 1.008
CACO3 = 40.078 + 12.011 + 3 * 15.999
HCO3 = 1.008 + 12.011 + 3 * 15.999
GPG = 64.79891 / 3.785411784

WITH_FLAG = ("Sample ID", "Date Sampled", "Analyte", "Qualifier", "Result", "Units", "RL")


def flagged(*rows: tuple[str, ...]) -> tuple[str, bytes]:
    return csv(WITH_FLAG, *(("4711", DAY, *row) for row in rows))


def one(**values: object) -> dict[str, dict[str, object]]:
    return {"4711": dict(values)}


PLAIN = [
    Case(
        "long, plain",
        lambda: long(("Iron", "0.42", "mg/L"), ("Hardness", "210", "mg/L as CaCO3"), ("pH", "7.1", "S.U.")),
        one(iron=is_(0.42), hardness=is_(210.0), ph=is_(7.1)),
    ),
    Case(
        "wide, units in the headings",
        lambda: csv(
            ("Sample ID", "Date Sampled", "pH", "Iron (mg/L)", "Lead (ug/L)", "Nitrate (mg/L as N)"),
            ("4711", DAY, "6.8", "1.2", "4", "3.1"),
            ("4712", DAY, "7.2", "<0.02", "<1", "0.2"),
        ),
        {
            "4711": {"ph": is_(6.8), "iron": is_(1.2), "lead": is_(0.004), "nitrate": is_(3.1)},
            "4712": {"ph": is_(7.2), "iron": below(0.02), "lead": below(0.001), "nitrate": is_(0.2)},
        },
        shows=("4 ug/L → 0.004 mg/L",),
    ),
    Case(
        "wide, a row of units under the headings",
        lambda: csv(
            ("Sample ID", "Date Sampled", "Iron", "Arsenic", "pH"),
            ("", "", "mg/L", "ug/L", "S.U."),
            ("4711", DAY, "0.3", "2", "7.4"),
        ),
        one(iron=is_(0.3), arsenic=is_(0.002), ph=is_(7.4)),
    ),
    Case(
        "one column a sample",
        lambda: csv(
            ("Parameter", "Units", "KW-1", "KW-2"),
            ("Iron", "mg/L", "0.5", "<0.02"),
            ("E. coli", "CFU/100 mL", "absent", "absent"),
        ),
        {"KW-1": {"iron": is_(0.5), "e_coli": ABSENT}, "KW-2": {"iron": below(0.02), "e_coli": ABSENT}},
        day=DAY,
    ),
    Case(
        "two samples in one file",
        lambda: long(
            ("A1", DAY, "Iron", "0.5", "mg/L"),
            ("B2", DAY, "Iron", "0.1", "mg/L"),
            ("A1", DAY, "Manganese", "0.2", "mg/L"),
            ("B2", DAY, "Manganese", "<0.005", "mg/L"),
        ),
        {"A1": {"iron": is_(0.5), "manganese": is_(0.2)}, "B2": {"iron": is_(0.1), "manganese": below(0.005)}},
    ),
    Case(
        "a letterhead above the headings",
        lambda: csv(
            ("Northreach Laboratory",),
            ("Report 26-118",),
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"),
            ("4711", DAY, "Iron", "0.4", "mg/L"),
        ),
        one(iron=is_(0.4)),
    ),
    Case(
        "tab separated, Windows letters",
        lambda: long(("Lead", "3", "µg/L"), ("Conductivity", "410", "µS/cm"), sep="\t", encoding="cp1252"),
        one(lead=is_(0.003), conductivity=is_(410.0)),
    ),
    Case(
        "UTF-8 with its mark and a micro of another alphabet",
        lambda: long(("Lead", "3", "μg/L"), encoding="utf-8-sig"),
        one(lead=is_(0.003)),
    ),
    Case(
        "workbook, numbers and a day as cells",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"),
            (4711, noon(2026, 6, 2), "Iron", 0.1 + 0.2, "mg/L"),
            (4711, noon(2026, 6, 2), "Turbidity", 0.30, "NTU"),
        ),
        one(iron=is_(0.3), turbidity=is_(0.3)),
    ),
    Case(
        "workbook, results on the second sheet",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"),
            ("4711", DAY, "Iron", "0.4", "mg/L"),
            sheets={"Cover": [("Northreach Laboratory",)]},
        ),
        one(iron=is_(0.4)),
        says=("no column",),
        answers={"sheet": "Results"},
    ),
    Case(
        "tests not asked for stay empty and say so",
        lambda: long(("Iron", "0.4", "mg/L"), ("Uranium", "", "ug/L")),
        one(iron=is_(0.4)),
        shows=("no result in the file: nothing is taken in",),
    ),
    Case(
        "capitals and word orders",
        lambda: long(
            ("IRON, TOTAL", "0.4", "MG/L"), ("Total Hardness (CaCO3)", "120", "mg/l"), ("COLOR, TRUE", "5", "PCU")
        ),
        one(iron=is_(0.4), hardness=is_(120.0), colour=is_(5.0)),
    ),
]

BASES = [
    Case(
        "nitrate as the ion in the unit",
        lambda: long(("Nitrate", "30", "mg/L as NO3")),
        one(nitrate=is_(30 * 14.007 / NO3)),
        shows=("30 mg/L as NO3 → 6.777 mg/L as N",),
    ),
    Case(
        "nitrate as the ion in the name",
        lambda: long(("Nitrate (as NO3)", "30", "mg/L")),
        one(nitrate=is_(30 * 14.007 / NO3)),
        shows=("counted as NO3, as the name says",),
    ),
    Case(
        "nitrate nitrogen",
        lambda: long(("Nitrate-N", "6.8", "mg/L"), ("Nitrite (NO2-N)", "0.01", "mg/L")),
        one(nitrate=is_(6.8), nitrite=is_(0.01)),
    ),
    Case(
        "nitrate without its basis is asked",
        lambda: long(("Nitrate", "5", "mg/L")),
        one(nitrate=is_(5 * 14.007 / NO3)),
        says=("a unit with its basis",),
        answers={"units": {"nitrate": "mg/L as NO3"}},
    ),
    Case(
        "name and unit contradict each other",
        lambda: long(("Nitrate as N", "5", "mg/L as NO3")),
        says=("contradict each other",),
        refused="contradict each other",
    ),
    Case(
        "nitrite as the ion and ammonium",
        lambda: long(("Nitrite", "0.5", "mg/L as NO2"), ("Ammonium", "1.0", "mg/L")),
        one(nitrite=is_(0.5 * 14.007 / NO2), ammonia=is_(14.007 / NH4)),
    ),
    Case(
        "hardness in grains",
        lambda: long(("Hardness", "7", "gpg")),
        one(hardness=is_(7 * GPG)),
        shows=("7 gpg → 119.8 mg/L as CaCO3",),
    ),
    Case(
        "hardness in German and French degrees",
        lambda: csv(("Sample ID", "Date Sampled", "Hardness (°dH)"), ("4711", DAY, "10"), ("4712", DAY, "5")),
        {
            "4711": {"hardness": is_(100 * CACO3 / (40.078 + 15.999))},
            "4712": {"hardness": is_(50 * CACO3 / (40.078 + 15.999))},
        },
    ),
    Case(
        "calcium as the carbonate and as the element",
        lambda: csv(
            ("Sample ID", "Date Sampled", "Calcium (as CaCO3), mg/L", "Hardness (mg/L)"),
            ("4711", DAY, "200", "240"),
            ("4712", DAY, "100", "130"),
        ),
        {
            "4711": {"calcium": is_(200 * 40.078 / CACO3), "hardness": is_(240.0)},
            "4712": {"calcium": is_(100 * 40.078 / CACO3), "hardness": is_(130.0)},
        },
        shows=("200 mg/L as CaCO3 → 80.09 mg/L",),
    ),
    Case(
        "alkalinity as bicarbonate",
        lambda: long(("Alkalinity, total", "305", "mg/L as HCO3")),
        one(alkalinity=is_(305 * CACO3 / (2 * HCO3))),
    ),
    Case(
        "sulphide as hydrogen sulphide",
        lambda: long(("Hydrogen sulfide", "1.0", "mg/L")),
        one(sulphide=is_(32.06 / (2 * 1.008 + 32.06))),
    ),
    Case(
        "silicon for silica",
        lambda: long(("Silicon", "5", "mg/L")),
        one(silica=is_(5 * (28.085 + 2 * 15.999) / 28.085)),
    ),
    Case(
        "parts per billion and per million",
        lambda: long(("Arsenic", "12", "ppb"), ("Iron", "0.4", "ppm"), ("PFAS sum", "8", "ng/L")),
        one(arsenic=is_(0.012), iron=is_(0.4), pfas=is_(8.0)),
    ),
    Case(
        "uranium in becquerel is no uranium in milligrams",
        lambda: long(("Uranium", "0.2", "Bq/L")),
        says=("cannot read",),
        refused="one of the units mg/L, ug/L",
    ),
    Case(
        "radon in picocuries, warmth in Fahrenheit",
        lambda: long(("Radon", "1000", "pCi/L"), ("Temperature", "50", "°F")),
        one(radon=is_(37.0), temperature=is_(10.0)),
    ),
    Case(
        "transmittance without its path length is asked",
        lambda: long(("UV Transmittance at 254 nm", "81", "%")),
        one(uvt=is_(81.0)),
        says=("path length",),
        answers={"units": {"uv transmittance at 254 nm": "%/cm"}},
    ),
    Case(
        "absorbance for transmittance",
        lambda: long(("UV 254", "0.0915", "1/cm")),
        one(uvt=is_(100 * 10**-0.0915)),
    ),
    Case(
        "a metal without a unit is asked",
        lambda: long(("Lead", "5", "")),
        one(lead=is_(0.005)),
        says=("one of the units mg/L, ug/L",),
        answers={"units": {"lead": "ug/L"}},
    ),
]

SIGNS = [
    Case(
        "less than, with and without a blank",
        lambda: long(("Iron", "<0.005", "mg/L"), ("Manganese", "< 0.002", "mg/L"), ("Lead", "<1", "ug/L")),
        one(iron=below(0.005), manganese=below(0.002), lead=below(0.001)),
    ),
    Case(
        "not detected without a limit keeps no number",
        lambda: long(("Lead", "ND", "mg/L"), ("Uranium", "Not Detected", "ug/L")),
        one(lead=below(None), uranium=below(None)),
    ),
    Case(
        "not detected, the limit in its own column",
        lambda: flagged(("Lead", "", "ND", "mg/L", "0.001"), ("Copper", "", "0.12", "mg/L", "0.01")),
        one(lead=below(0.001), copper=is_(0.12)),
        shows=("“ND”, its reporting limit is 0.001",),
    ),
    Case(
        "the sign in its own column",
        lambda: flagged(("Lead", "<", "0.001", "mg/L", ""), ("Iron", "=", "0.4", "mg/L", "")),
        one(lead=below(0.001), iron=is_(0.4)),
    ),
    Case(
        "flag U: the number is the limit",
        lambda: flagged(("Lead", "U", "0.001", "mg/L", "0.001"), ("Iron", "", "0.4", "mg/L", "0.02")),
        one(lead=below(0.001), iron=is_(0.4)),
        shows=("flag U: not detected, 0.001 is its limit",),
    ),
    Case(
        "flag U beside a zero, limit stated",
        lambda: flagged(("Lead", "U", "0", "mg/L", "0.001")),
        says=("differ",),
        refused="differ",
    ),
    Case(
        "flag J: an estimate under the limit, taken as printed and said",
        lambda: flagged(("Lead", "J", "0.0007", "mg/L", "0.001")),
        one(lead=is_(0.0007)),
        shows=("flag J: the laboratory's estimate, taken as printed",),
    ),
    Case(
        "a flag of the laboratory's own is looked at",
        lambda: flagged(("Nitrate as N", "H", "2.0", "mg/L", "0.1")),
        one(nitrate=is_(2.0)),
        says=("look at what is doubtful",),
        sure=True,
    ),
    Case(
        "present, absent and too many",
        lambda: long(
            ("A1", DAY, "Total Coliforms", "TNTC", "CFU/100 mL"),
            ("A1", DAY, "E. coli", "Absent", "P/A"),
            ("B2", DAY, "Total Coliforms", "Present", "P/A"),
            ("B2", DAY, "E. coli", "ND", "per 100 mL"),
        ),
        {
            "A1": {"total_coliform": ("above", None), "e_coli": ABSENT},
            "B2": {"total_coliform": PRESENT, "e_coli": ABSENT},
        },
    ),
    Case(
        "counts with signs",
        lambda: long(("Total Coliforms", ">2419.6", "MPN/100mL"), ("E. coli", "<1", "MPN/100mL")),
        one(total_coliform=("above", 2419.6), e_coli=below(1.0)),
    ),
    Case(
        "a count of none",
        lambda: long(("Total Coliforms", "0", "CFU/100 mL"), ("E. coli", "0", "CFU/100 mL")),
        one(total_coliform=is_(0.0), e_coli=is_(0.0)),
    ),
    Case(
        "a metal printed as 0 is asked about",
        lambda: long(("Lead", "0", "ug/L")),
        one(lead=is_(0.0)),
        says=("look at what is doubtful",),
        sure=True,
    ),
    Case("a negative result", lambda: long(("Iron", "-0.1", "mg/L")), says=("impossible",), refused="impossible"),
    Case("a range", lambda: long(("Iron", "0.1-0.3", "mg/L")), says=("cannot read",), refused="cannot read"),
    Case("words for a result", lambda: long(("Iron", "trace", "mg/L")), says=("cannot read",), refused="cannot read"),
    Case(
        "only a flag, no result",
        lambda: flagged(("Iron", "broken bottle", "", "mg/L", "")),
        says=("no result, only the flag",),
        refused="no result, only the flag",
    ),
]

COMMAS = [
    Case(
        "decimal commas, semicolons",
        lambda: long(("Iron", "0,42", "mg/L"), ("Hardness", "12,5", "gpg"), sep=";"),
        one(iron=is_(0.42), hardness=is_(12.5 * GPG)),
    ),
    Case(
        "decimal commas with a sign, quoted between commas",
        lambda: long(("Iron", "<0,005", "mg/L")),
        one(iron=below(0.005)),
    ),
    Case(
        "a comma that could mean either is asked",
        lambda: long(("Sodium", "1,234", "mg/L"), ("Iron", "0.4", "mg/L")),
        one(sodium=is_(1234.0), iron=is_(0.4)),
        says=("what does the comma in “1,234” mean?",),
        answers={"comma": "thousands"},
        shows=("“1,234” read as 1234",),
    ),
    Case(
        "the same comma, meant as a decimal",
        lambda: long(("Sodium", "1,234", "mg/L"), ("Iron", "0,4", "mg/L"), sep=";"),
        one(sodium=is_(1.234), iron=is_(0.4)),
        says=("what does the comma",),
        answers={"comma": "decimal"},
    ),
    Case(
        "a thousands point beside decimal commas is asked",
        lambda: long(("TDS", "1.234", "mg/L"), ("Iron", "0,4", "mg/L"), sep=";"),
        one(tds=is_(1234.0), iron=is_(0.4)),
        says=("what does the comma in “1.234” mean?",),
        answers={"comma": "decimal"},
    ),
    Case(
        "thousands twice are sure",
        lambda: long(("Conductivity", "1,234.5", "uS/cm")),
        one(conductivity=is_(1234.5)),
    ),
]

DAYS = [
    Case(
        "day or month first is asked",
        lambda: long(("4711", "03/04/2026", "Iron", "0.4", "mg/L")),
        one(iron=is_(0.4)),
        says=("which comes first in its days, day or month?",),
        answers={"days": "dmy"},
    ),
    Case(
        "a day past the twelfth shows the order",
        lambda: long(("A1", "25/03/2026", "Iron", "0.4", "mg/L"), ("B2", "03/04/2026", "Iron", "0.2", "mg/L")),
        {"A1": {"iron": is_(0.4)}, "B2": {"iron": is_(0.2)}},
    ),
    Case(
        "days in both orders",
        lambda: long(
            ("A1", "25/03/2026", "Iron", "0.4", "mg/L"),
            ("B2", "03/25/2026", "Iron", "0.2", "mg/L"),
            ("C3", "03/04/2026", "Iron", "0.3", "mg/L"),
        ),
        says=("which comes first",),
        refused="which comes first",
    ),
    Case(
        "a month by name",
        lambda: long(("4711", "2-Jun-26", "Iron", "0.4", "mg/L")),
        one(iron=is_(0.4)),
    ),
    Case(
        "a workbook that counts from 1904 gives the day it means",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"),
            ("4711", noon(2026, 6, 2), "Iron", 0.4, "mg/L"),
            epoch_1904=True,
        ),
        one(iron=is_(0.4)),
    ),
    Case(
        "days pasted out of a 1904 workbook are four years old and asked about",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"),
            ("4711", noon(2022, 6, 1), "Iron", 0.4, "mg/L"),
        ),
        one(iron=is_(0.4)),
        says=("look at what is doubtful",),
        sure=True,
    ),
    Case(
        "a day as a bare number",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"), ("4711", 46175, "Iron", 0.4, "mg/L")
        ),
        says=("is a number; accepted is the cell formatted as a day",),
        refused="is a number",
    ),
    Case(
        "a day to come",
        lambda: long(("4711", "2027-01-01", "Iron", "0.4", "mg/L")),
        says=("still to come",),
        refused="still to come",
    ),
    Case(
        "two days for one sample",
        lambda: long(("4711", DAY, "Iron", "0.4", "mg/L"), ("4711", "2026-06-05", "Lead", "1", "ug/L")),
        says=("two days for one sample",),
        refused="two days for one sample",
    ),
    Case(
        "no day at all",
        lambda: csv(("Sample ID", "Analyte", "Result", "Units"), ("4711", "Iron", "0.4", "mg/L")),
        says=("does not say the day",),
        refused="does not say the day",
    ),
]

TWINS_AND_COLUMNS = [
    Case(
        "the same test twice with the same result is one result",
        lambda: long(("Nitrate as N", "2.0", "mg/L"), ("Nitrate as NO3", "8.9", "mg/L")),
        one(nitrate=is_(2.0)),
        shows=("the same as row 2, within rounding: taken once",),
    ),
    Case(
        "the same test twice with other results",
        lambda: long(("Iron", "0.4", "mg/L"), ("Iron, total", "0.9", "mg/L")),
        one(iron=is_(0.4)),
        says=("stands twice in this sample with different results",),
        left=("r3",),
    ),
    Case(
        "results and limits exchanged",
        lambda: csv(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units", "RL"),
            ("4711", DAY, "Iron", "0.02", "mg/L", "0.42"),
            ("4711", DAY, "Lead", "0.001", "mg/L", "0.004"),
        ),
        says=("under its own reporting limit", "columns exchanged"),
        refused="under its own reporting limit",
    ),
    Case(
        "iron under hardness and hardness under iron",
        lambda: csv(("Sample ID", "Date Sampled", "Iron (mg/L)", "Hardness (mg/L)"), ("4711", DAY, "180", "0.4")),
        says=("look at what is doubtful",),
        refused="look at what is doubtful",
    ),
    Case(
        "pH and hardness exchanged",
        lambda: csv(("Sample ID", "Date Sampled", "pH", "Hardness (mg/L)"), ("4711", DAY, "180", "7.2")),
        says=("impossible",),
        refused="impossible",
    ),
    Case(
        "dissolved iron above total iron is asked about",
        lambda: long(("Iron, total", "0.5", "mg/L"), ("Iron, dissolved", "2.0", "mg/L")),
        one(iron=is_(0.5), iron_dissolved=is_(2.0)),
        says=("look at what is doubtful",),
        sure=True,
    ),
    Case(
        "lead in the wrong unit is asked about",
        lambda: long(("Lead", "12", "mg/L")),
        says=("look at what is doubtful",),
        refused="look at what is doubtful",
    ),
    Case(
        "a test nobody here knows",
        lambda: long(("Iron", "0.4", "mg/L"), ("Molybdenum", "3", "ug/L")),
        one(iron=is_(0.4)),
        says=("“Molybdenum” is not known here",),
        answers={"names": {"molybdenum": "-"}},
    ),
    Case(
        "dissolved manganese is not manganese",
        lambda: long(("Manganese, dissolved", "0.1", "mg/L")),
        says=("is not known here",),
        refused="is not known here",
    ),
    Case(
        "nitrate and nitrite together are neither",
        lambda: long(("Nitrate + Nitrite as N", "2.1", "mg/L")),
        says=("is not known here",),
        refused="is not known here",
    ),
    Case(
        "a name of the laboratory's own, answered once",
        lambda: long(("Fer total", "0.4", "mg/L")),
        one(iron=is_(0.4)),
        says=("is not known here",),
        answers={"names": {"fer total": "iron"}},
    ),
    Case(
        "a blank of the laboratory's own is left out",
        lambda: long(("4711", DAY, "Iron", "0.4", "mg/L"), ("Method blank", DAY, "Iron", "<0.02", "mg/L")),
        one(iron=is_(0.4)),
        drop=("Method blank",),
    ),
    Case(
        "a row without its sample number",
        lambda: long(("4711", DAY, "Iron", "0.4", "mg/L"), ("", DAY, "Lead", "1", "ug/L")),
        says=("no sample number",),
        refused="no sample number",
    ),
    Case(
        "no column of results",
        lambda: csv(("Sample ID", "Analyte", "Remark"), ("4711", "Iron", "see report")),
        says=("no column is",),
        refused="no column is",
    ),
]

TRAPS = [
    Case(
        "sulphate counted as sulphur is not sulphate",
        lambda: long(("Sulphate as S", "10", "mg/L")),
        says=("accepted is one of",),
        refused="accepted is one of",
    ),
    Case("iron as Fe is iron", lambda: long(("Iron as Fe", "0.4", "mg/L")), one(iron=is_(0.4))),
    Case(
        "the unit in the name and the unit beside it differ",
        lambda: long(("Iron (ug/L)", "400", "mg/L")),
        says=("contradict each other",),
        refused="contradict each other",
    ),
    Case(
        "no unit where a unit would change the number",
        lambda: long(("Sodium", "25", "")),
        one(sodium=is_(25.0)),
        says=("no unit; say it below",),
        answers={"units": {"sodium": "mg/L"}},
    ),
    Case(
        "no unit beside thousands",
        lambda: long(("Sodium", "1,000.5", "")),
        says=("no unit; say it below",),
        refused="no unit; say it below",
    ),
    Case(
        "no unit where none could",
        lambda: long(("Turbidity", "0.4", ""), ("pH", "7.2", ""), ("E. coli", "2", "")),
        one(turbidity=is_(0.4), ph=is_(7.2), e_coli=is_(2.0)),
    ),
    Case(
        "a column of a test not known here is said",
        lambda: csv(("Sample ID", "Date Sampled", "Iron (mg/L)", "Molybdenum (ug/L)"), ("4711", DAY, "0.4", "3")),
        one(iron=is_(0.4)),
        says=("look at the columns left out",),
        sure=True,
    ),
    Case(
        "a second column of results is said",
        lambda: csv(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units", "Result"),
            ("4711", DAY, "Iron", "0.4", "mg/L", "0.9"),
        ),
        one(iron=is_(0.4)),
        says=("look at the columns left out",),
        sure=True,
    ),
    Case(
        "a name answered by hand keeps the basis in it",
        lambda: long(("Calcio como CaCO3", "200", "mg/L")),
        one(calcium=is_(200 * 40.078 / CACO3)),
        says=("is not known here",),
        answers={"names": {"calcio como caco3": "calcium"}},
        shows=("counted as CaCO3, as the name says",),
    ),
    Case(
        "bicarbonate alkalinity is not the whole alkalinity",
        lambda: long(("Alkalinity, Bicarbonate (as CaCO3)", "200", "mg/L")),
        says=("is not known here",),
        refused="is not known here",
    ),
    Case(
        "counts in one millilitre are no counts in a hundred",
        lambda: long(("Total Coliforms", "3", "CFU/mL")),
        says=("cannot read",),
        refused="cannot read",
    ),
    Case(
        "a footnote at the number",
        lambda: long(("Iron", "0.4*", "mg/L"), ("Lead", "0.005 U", "mg/L")),
        says=("cannot read",),
        refused="cannot read",
    ),
    Case(
        "a share shown as per cent",
        lambda: book(("Sample ID", "Date Sampled", "UVT (%/cm)"), ("4711", DAY, 0.81), formats={"C2": "0%"}),
        says=("one unit",),
        refused="one unit",
    ),
    Case(
        "a number with a blank for thousands",
        lambda: long(("TDS", "1 234", "mg/L")),
        says=("cannot read",),
        refused="cannot read",
    ),
]

BROKEN = [
    Case("a zip bomb", bomb, refused="MB in"),
    Case("a zip file that is no workbook", no_workbook, refused="no XLSX workbook"),
    Case("a PDF", lambda: ("report.csv", b"%PDF-1.4\n%%EOF"), refused="a PDF"),
    Case(
        "an old workbook",
        lambda: ("old.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"0" * 600),
        refused="old or locked",
    ),
    Case("an empty file", lambda: ("results.csv", b""), refused="an empty file"),
    Case(
        "a picture", lambda: ("results.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), refused="bytes that are no text"
    ),
    Case(
        "a million rows",
        lambda: ("many.csv", b"Sample ID,Analyte,Result\n" + b"1,Iron,0.4\n" * 1_000_000),
        refused="at most 2 MB",
    ),
    Case(
        "six thousand rows",
        lambda: ("many.csv", b"Sample ID,Analyte,Result\n" + b"1,Iron,0.4\n" * 6_000),
        refused="at most 5000 rows",
    ),
    Case(
        "a quote left open",
        lambda: ("results.csv", b'Sample ID,Analyte,Result\n4711,"Iron,0.4\n4711,Lead,1\n'),
        refused="quotes",
    ),
    Case(
        "a cell too many",
        lambda: ("results.csv", b"Sample ID,Date Sampled,Analyte,Result,Units\n4711,2026-06-02,Iron,0,4,mg/L\n"),
        says=("cells under 5 headings",),
        refused="cells under 5 headings",
    ),
    Case(
        "a formula without its result",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"), ("4711", DAY, "Iron", "=1/2", "mg/L")
        ),
        says=("a formula without its result",),
        refused="a formula without its result",
    ),
    Case(
        "a day where the result should be",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"),
            ("4711", DAY, "Iron", datetime(2026, 3, 4), "mg/L"),
        ),
        says=("cannot read",),
        refused="cannot read",
    ),
    Case(
        "true and false for a result",
        lambda: book(
            ("Sample ID", "Date Sampled", "Analyte", "Result", "Units"), ("4711", DAY, "E. coli", False, "")
        ),
        says=("cannot read",),
        refused="cannot read",
    ),
    Case(
        "a formula for a name",
        lambda: long(("=HYPERLINK(1)", "0.4", "mg/L")),
        says=("is not known here",),
        refused="is not known here",
    ),
]

CASES: list[Case] = [*PLAIN, *BASES, *SIGNS, *COMMAS, *DAYS, *TWINS_AND_COLUMNS, *TRAPS, *BROKEN]
