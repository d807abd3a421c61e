"""Small pictures beside questions: what is meant is recognised before the words are read.

48 px square, drawn in the path's own classes, so that they take their colours from the page; two weights of line,
no letters. ``t`` is brown water, ``h`` hot or rusty, ``v`` a blue-green crust. Each always stands beside its words.
"""

from __future__ import annotations

from functools import cache
from typing import Final

from sizing.drawing.element import path
from sizing.drawing.picture_parts import (
    GROUND,
    bubbles,
    cup,
    drop,
    dust,
    glass,
    head,
    mark,
    nose,
    person,
    pipe,
    ring,
    salt_box,
    specks,
    tall,
    tap,
    waves,
)

SLIME: Final = "M6 14H42V20q-3 14 -6 0t-6 2 -6 10 -6 -10 -6 -2 -6 6Z"
BLOT: Final = "M24 17q7 8 3 16t-7 -3 4 -13Z"
FILM: Final = "M9 28Q18 26 24 34T40 43H9Z"

_OF_THE_WATER: Final[dict[str, str]] = {
    "tea_clear": glass("t"),
    "clear_then_orange": glass("w", dust("h")),
    "red_first_draw": tap() + drop("h", 30.5, 33),
    "red_hot_only": tap("h") + drop("h", 30.5, 33) + waves(12, 36),
    "black_stain": glass("w", specks(8)) + path("n", "M10 45H38"),
    "blue_green": tap() + path("v", "M20 44Q21 36 30 36Q39 36 41 44Z") + path("n", "M8 44H44"),
    "tarnish": path("k", "M20 6Q28 6 28 14Q28 22 24 22Q20 22 20 14Z") + path("n", "M24 22V44M20 6Q28 6 28 14"),
    "pink_film": path("n", "M8 6V44H42")
    + path("h", FILM)
    + path("d", FILM)
    + path("n", "M26 6H38V10M34 10H42")
    + path("d", "M35 14v4M38 13v5M41 14v4"),
    "egg_hot": tap("h") + waves(30, 46, 3),
    "egg_cold": tap() + waves(30, 46, 3),
    "egg_one_fixture": path("n", "M6 20H42Q40 34 28 34V44M20 44V34Q8 34 6 20") + waves(24, 16, 3),
    "fishy": path("o", "M8 24Q18 12 32 24Q18 36 8 24ZM32 24L42 16V32Z") + mark(15, 22),
    "musty": path("t", "M24 42Q10 30 24 6Q38 30 24 42Z") + path("n", "M24 42Q10 30 24 6Q38 30 24 42ZM24 46V16"),
    "chlorine_smell": glass("w") + waves(24, 7, 3),
    "sour_hot": glass("h") + waves(24, 7, 3),
    "metal_taste": glass("w") + path("d", "M19 26l4 -4M25 36l4 -4M20 34l2 -2"),
    "salty": path("o", "M16 18H32L35 42H13Z") + path("n", "M17 18Q24 4 31 18") + specks(5, 21, 10),
    "slippery": path("o", "M8 26H40V38Q40 41 37 41H11Q8 41 8 38Z") + bubbles(24, 22),
    "white_scale": tap() + path("o", "M25 29l3 4 3 -3 3 4 3 -5 2 -2v-4h-14z"),
    "grit": glass("w", dust("s") + specks(9, 20, 37)),
    "cloudy_stays": glass("t", path("d", "M18 22h12M17.5 28h13M18 34h12")),
    "milky": glass("w", bubbles(24, 30, 6)),
    "orange_slime": path("o", "M7 10H41V16H7ZM10 16H38V42H10Z") + path("h", "M10 28q5 -4 9 0t10 0 9 -1V42H10Z"),
    "low_pressure_all": tap() + path("d", "M30.5 30v4M30.5 38v2"),
    "pressure_pulses": ring(24, 26, 17) + path("n", "M14 28l5 -8 5 12 5 -12 5 8") + mark(24, 6),
    "hard_returns": tall(16) + head(16) + salt_box(36) + path("n", "M9 28h14M16 21l-7 7 7 7"),
    "ro_slow": path("n", "M14 44V14Q14 6 22 6Q30 6 30 14V18") + drop("w", 30, 26) + path("d", "M30 38v2"),
    "ro_tds_creep": path("o", "M12 8H36V40H12Z") + path("n", "M17 32l5 -6 4 3 6 -12") + path("d", "M16 36h16"),
    "coliform_positive": path("o", "M18 6H30V14H34V44H14V14H18Z") + path("w", "M15 24H33V43H15Z") + specks(6, 20, 30),
    "fuel_smell": path("o", "M10 16H32V44H10ZM14 10H26V16H14Z") + path("n", "M32 20l7 -5v16l-7 4") + waves(40, 12, 2),
    "sewage_smell": glass("t", specks(4, 20, 34)) + waves(24, 7, 3),
    "algae_scum": path("w", "M4 26H44V44H4Z")
    + path("v", "M4 26q5 -5 10 0t10 0 10 0 10 0v5H4Z")
    + path("n", "M4 26H44"),
    "uv_alarm": path("o", "M6 22H42V36H6Z")
    + path("lamp", "M11 27H37V31H11Z")
    + path("n", "M24 4V12M10 8l5 5M38 8l-5 5"),
    "foam": glass("w", bubbles(24, 16, 9)),
    "glass_standing": glass("w", dust("t")) + ring(38, 12, 7) + path("n", "M38 8V12H41"),
    "glass_bubbles": glass("w", bubbles(24, 30, 6)),
    "white_bowl": path("o", "M5 18H43Q41 40 24 40Q7 40 5 18Z") + path("h", "M5.5 18H42.5L42 22H6.2Z"),
    "first_draw": tap() + drop("t", 30.5, 31) + ring(12, 36, 8) + path("n", "M12 31V36H16"),
    "one_tap": tap() + path("n", "M21 32V46H41V32Z"),
    "hot_cold": path("h", "M8 14H20V40H8Z")
    + path("w", "M28 14H40V40H28Z")
    + path("n", "M8 14H20V40H8ZM28 14H40V40H28Z"),
    "raw_tap": path("w", "M4 34H20V44H4Z") + path("n", "M12 44V16H26") + tap(x=8, y=-2),
    "smell": nose(20) + waves(36, 34, 3),
    "smell_outdoors": glass("w", x=-8, y=4) + ring(38, 11, 6) + path("d", "M38 1v2M38 19v2M28 11h2M46 11h1"),
    "taste": cup() + path("d", "M17 20h14"),
    "slime": path("h", SLIME) + path("d", SLIME) + path("n", "M6 14H42"),
    "film": path("w", "M5 20H43V42H5Z")
    + path("n", "M5 20H43")
    + path("d", "M10 25q7 -4 14 0t14 0M12 30q6 -3 11 0t11 0"),
    "stain": path("o", "M6 16H42Q40 38 24 38Q8 38 6 16Z")
    + path("h", BLOT)
    + path("d", BLOT)
    + path("n", "M24 38V44"),
    "specks": ring(22, 20, 14) + specks(6, 16, 16) + path("n", "M32 30L44 44"),
    "vinegar": path("o", "M20 4H28V12Q34 16 34 22V44H14V22Q14 16 20 12Z") + bubbles(24, 34, 6),
}
_OF_THE_PLACE: Final[dict[str, str]] = {
    "drilled_well": GROUND + path("o", "M20 8H28V46H20Z") + path("w", "M21 32H27V45H21Z") + path("n", "M17 8H31"),
    "dug_well": GROUND + path("o", "M11 10H37V46H11Z") + path("w", "M12 30H36V45H12Z") + path("n", "M8 10H40"),
    "lake": path("w", "M4 22H44V34Q24 46 4 34Z") + path("n", "M4 22H44") + path("d", "M10 27h10M22 32h12M12 37h8"),
    "river": path("w", "M14 4Q34 16 20 26T34 46H14Q2 34 14 26T4 4Z")
    + path("n", "M14 4Q34 16 20 26T34 46M4 4Q24 14 14 26T14 46"),
    "spring": path("n", "M4 40L18 16L26 26L34 12L44 40") + path("w", "M22 28Q18 36 22 44H30Q26 36 28 28Z"),
    "cistern": path("o", "M8 16H40V44H8Z") + path("w", "M9 28H39V43H9Z") + path("n", "M6 16L24 6L42 16Z"),
    "well": GROUND + path("o", "M20 8H28V46H20Z") + path("w", "M21 32H27V45H21Z"),
    "well_cap": GROUND + path("o", "M19 12H29V46H19Z") + path("n", "M15 9L33 5M15 12H33"),
    "rain": path("o", "M12 22Q6 22 6 16Q6 10 13 10Q16 3 24 4Q32 4 33 11Q42 11 42 17Q42 22 36 22Z")
    + path("n", "M14 28l-3 8M24 28l-3 8M34 28l-3 8M19 36l-3 8M29 36l-3 8"),
    "season": path("o", "M8 10H40V42H8Z")
    + path("n", "M8 18H40M16 5V13M32 5V13")
    + path("d", "M16 24V38M24 24V38M32 24V38M11 28H37M11 34H37"),
    "road": path("n", "M16 6L6 44M32 6L42 44") + path("d", "M24 8V14M24 20V26M24 32V40"),
    "people": person(15) + person(33),
    "infant": ring(24, 15, 8) + path("n", "M12 44Q12 26 24 26Q36 26 36 44Z") + path("d", "M21 18q3 2.5 6 0"),
    "laboratory": path("o", "M20 6H28V18L38 40Q39 44 35 44H13Q9 44 10 40L20 18Z")
    + path("w", "M16 28H32L37 41Q37 43 35 43H13Q11 43 11.5 41Z"),
    "test": path("o", "M18 5H30V36Q30 44 24 44Q18 44 18 36Z")
    + path("w", "M19 22H29V36Q29 43 24 43Q19 43 19 36Z")
    + path("d", "M30 12h-5M30 18h-5"),
    "pipes": pipe(14) + pipe(34) + path("n", "M24 18V30"),
    "place": path("n", "M24 44Q10 26 10 18Q10 5 24 5Q38 5 38 18Q38 26 24 44Z") + ring(24, 18, 5),
    "power": path("k", "M27 4L11 27H22L19 44L37 20H25Z"),
    "tank": path("o", "M9 14Q24 6 39 14V40Q24 48 9 40Z") + path("w", "M10 24Q24 30 38 24V39.5Q24 46 10 39.5Z"),
    "household": path("o", "M6 22L24 6L42 22V44H6Z") + path("w", "M20 30H28V43H20Z"),
    "photograph": path("o", "M5 14H15L18 9H30L33 14H43V40H5Z") + ring(24, 26, 8),
}
_OF_DEVICES: Final[dict[str, str]] = {
    "tall_tank": tall(24),
    "two_tanks": tall(14) + tall(34),
    "control_head": path("o", "M10 14H38V32H10Z")
    + ring(24, 23, 6)
    + path("d", "M24 23v-4")
    + path("n", "M18 32V44M30 32V44"),
    "plain_head": tall(24) + path("o", "M15 6H33V13H15Z") + path("n", "M4 10H15M33 10H44"),
    "salt": salt_box(24, wide=14),
    "cabinet": path("o", "M10 8H38V44H10ZM10 8H38V15H10Z") + specks(7, 18, 26),
    "drain_line": tall(18) + head(18) + path("r", "M24 6H38V36") + path("n", "M33 38H43L38 45Z"),
    "beads": ring(18, 20, 6) + ring(30, 18, 6) + ring(24, 31, 6) + ring(36, 31, 6) + ring(12, 32, 6),
    "air_inlet": tall(20) + head(20) + path("n", "M40 4V14M36 10l4 4 4 -4") + path("d", "M36 18h8M36 21h8"),
    "purple": path("o", "M16 18H36V44H16ZM14 12H38V18H14Z") + path("k", "M18 36l4 -5 4 3 4 -4 4 6v6H18Z"),
    "dome_plug": tall(24) + path("k", "M27 8l7 4 -2 4 -7 -4Z"),
    "grains": dust("t", top=30) + specks(12, 16, 34) + path("n", "M8 26Q24 20 40 26M8 26L12 44H36L40 26"),
    "feeder": path("o", "M12 22H36V44H12ZM18 10H32V22H18Z")
    + path("w", "M13 32H35V43H13Z")
    + path("n", "M25 10V3M25 22V38"),
    "label": path("o", "M10 8H38V40H10Z") + path("d", "M15 16H33M15 22H33M15 28H26"),
    "plain_tank": path("o", "M12 14Q12 6 24 6Q36 6 36 14V42H12Z") + path("n", "M2 36H12M36 14H46"),
    "air_valve": path("o", "M19 20H29V40H19ZM21 10H27V20H21Z") + path("n", "M14 44H34M24 10V4"),
    "air_control": path("o", "M10 8H28V44H10Z") + ring(34, 26, 8) + path("d", "M34 26l4 -4"),
    "steel_cylinder": path("o", "M6 16H42V30H6ZM3 18H6V28H3ZM42 18H45V28H42Z") + path("n", "M24 30V36Q24 44 34 44"),
    "sensor": path("o", "M6 22H42V36H6Z") + path("n", "M20 22V12H28V22M24 12V5") + mark(24, 29),
    "housing": path("o", "M10 8H38V16H10Z")
    + path("w", "M14 16H34V38Q34 44 28 44H20Q14 44 14 38Z")
    + path("n", "M14 16H34V38Q34 44 28 44H20Q14 44 14 38Z"),
    "cartridge": path("o", "M15 6H33V44H15Z") + path("d", "M19 6V44M24 6V44M29 6V44"),
    "fibres": path("n", "M14 6H34V42H14Z") + path("d", "M17 6V42M20 6V42M23 6V42M26 6V42M29 6V42M32 6V42"),
    "mesh": path("n", "M12 8H36V34L24 44L12 34Z")
    + path("d", "M12 14H36M12 20H36M12 26H36M12 32H36M18 8V38M24 8V43M30 8V38"),
    "balls": bubbles(24, 28, 9) + path("n", "M10 12V38Q10 44 16 44H32Q38 44 38 38V12"),
    "ball_tank": path("o", "M24 10Q42 10 42 27Q42 44 24 44Q6 44 6 27Q6 10 24 10Z")
    + path("n", "M24 10V4H32")
    + path("d", "M7 28Q24 18 41 28"),
    "sink_tap": path("n", "M16 44V18Q16 8 24 8Q32 8 32 18V22M10 44H22") + drop("w", 32, 30),
    "drain_clamp": path("n", "M18 4V44M30 4V44M14 20H34V28H14Z") + path("d", "M34 24H46"),
    "spray": path("o", "M10 10H38V44H10Z")
    + path("n", "M24 10V18")
    + path("d", "M24 20l-8 12M24 20v14M24 20l8 12M20 20l-7 6M28 20l7 6"),
    "gutter": path("n", "M4 18L24 6L44 18M40 20H8V24H40V20M36 24V44"),
    "coil": pipe(24) + path("n", "M14 16V32M19 16V32M24 16V32M29 16V32M34 16V32"),
    "fridge": path("o", "M12 4H36V44H12ZM12 18H36") + path("n", "M16 10V14M16 24V32"),
    "bypass": pipe(34) + path("n", "M10 29V14H38V29") + ring(24, 14, 5),
    "cord": path("o", "M18 8H30V20Q30 26 24 26Q18 26 18 20Z") + path("n", "M21 8V3M27 8V3M24 26V34Q24 42 36 42H44"),
    "control_box": path("o", "M8 8H30V34H8Z") + path("n", "M34 44V24H40V44M13 15H25M13 21H25"),
    "pressure_tank": path("o", "M12 16Q12 6 24 6Q36 6 36 16V34Q36 44 24 44Q12 44 12 34Z")
    + path("w", "M12.7 26Q24 18 35.3 26V34Q35 43 24 43Q13 43 12.7 34Z"),
    "gauge": ring(24, 22, 17) + path("n", "M24 22L33 13M24 39V45") + path("d", "M11 22h4M33 22h4M24 9v4"),
    "pump": ring(24, 24, 15) + path("k", "M18 15V33L34 24Z") + path("n", "M16 37L10 45M32 37L38 45"),
    "filter": path("o", "M12 6H36V14H12Z")
    + path("t", "M15 14H33V38Q33 44 27 44H21Q15 44 15 38Z")
    + path("n", "M15 14H33V38Q33 44 27 44H21Q15 44 15 38ZM21 18V38M27 18V38"),
    "heater": path("o", "M13 8Q13 4 24 4Q35 4 35 8V42H13Z")
    + path("h", "M14 20H34V41H14Z")
    + path("d", "M18 28q3 -3 6 0t6 0M18 34q3 -3 6 0t6 0"),
    "softener": tall(14) + head(14) + salt_box(34),
    "ro": path("o", "M4 8H40Q44 12 40 16H4Z")
    + path("w", "M8 22H16V40H8ZM20 22H28V40H20Z")
    + path("n", "M8 22H16V40H8ZM20 22H28V40H20Z")
    + ring(38, 34, 7),
    "uv": path("o", "M5 16H43V32H5Z") + path("lamp", "M11 21.5H37V26.5H11Z") + path("n", "M24 32V40H34"),
}
PICTURES: Final[dict[str, str]] = {**_OF_THE_WATER, **_OF_THE_PLACE, **_OF_DEVICES}


@cache
def picture(name: str, size: int = 40) -> str:
    """The picture of a name as a small figure; nothing for a name without one. Its words must stand beside it.

    ``size`` is its edge in px.
    """
    body = PICTURES.get(name)
    if body is None:
        return ""
    box = f'width="{size}" height="{size}" viewBox="0 0 48 48"'
    return f'<svg class="wp sketch" {box} aria-hidden="true" focusable="false">{body}</svg>'
