"""Bottles, hours and steps against the published tables; every analyte has a bottle."""

from __future__ import annotations

import pytest

from sizing.engine.errors import OutsideValidRange
from sizing.engine.sampling import (
    OwnBottle,
    bottle_kinds,
    bottles_for,
    drawn_in,
    packages,
    sent,
    steps_of,
)
from sizing.engine.water import ANALYTES

DAY = 24.0

# (analyte, hours, where it is printed), written down from the tables themselves, not from the project's files.
PRINTED = [
    ("alkalinity", 14 * DAY, "40 CFR 136.3 Table II"),
    ("chloride", 28 * DAY, "40 CFR 136.3 Table II"),
    ("conductivity", 28 * DAY, "40 CFR 136.3 Table II"),
    ("colour", 48.0, "40 CFR 136.3 Table II"),
    ("fluoride", 28 * DAY, "40 CFR 136.3 Table II"),
    ("nitrate", 48.0, "40 CFR 136.3 Table II; a state laboratory's rules for drinking water, 48 h"),
    ("nitrite", 48.0, "the same"),
    ("silica", 28 * DAY, "40 CFR 136.3 Table II"),
    ("sulphate", 28 * DAY, "40 CFR 136.3 Table II"),
    ("sulphide", 7 * DAY, "40 CFR 136.3 Table II"),
    ("tds", 7 * DAY, "40 CFR 136.3 Table II, residue, filterable"),
    ("suspended_solids", 7 * DAY, "40 CFR 136.3 Table II, residue, not filterable"),
    ("turbidity", 48.0, "40 CFR 136.3 Table II"),
    ("ammonia", 28 * DAY, "40 CFR 136.3 Table II"),
    ("hardness", 180 * DAY, "40 CFR 136.3 Table II: 6 months"),
    ("lead", 180 * DAY, "40 CFR 136.3 Table II: metals 6 months"),
    ("mercury", 28 * DAY, "40 CFR 136.3 Table II"),
    ("ph", 0.25, "40 CFR 136.3 Table II: 15 minutes"),
    ("e_coli", 30.0, "40 CFR 141.852(a)(3)"),
    ("total_coliform", 30.0, "40 CFR 141.852(a)(3)"),
    ("voc", 14 * DAY, "EPA 524.2, as a state laboratory prints it"),
    ("radon", 4 * DAY, "ANSI/AARST MW-RN 2020, 6.1"),
]


@pytest.mark.parametrize(("analyte", "hours", "where"), PRINTED, ids=[row[0] for row in PRINTED])
def test_holding_times_are_the_printed_ones(analyte: str, hours: float, where: str) -> None:
    (bottle,) = bottles_for([analyte])
    assert bottle.hold_h == hours, where
    assert bottle.shortest == analyte


def test_every_analyte_has_a_bottle_and_only_one_a_draw() -> None:
    bottles = bottles_for(ANALYTES)
    carried = [code for bottle in bottles for code in bottle.analytes]
    assert sorted(carried) == sorted(ANALYTES)


def test_a_bottle_keeps_only_as_long_as_its_shortest_test() -> None:
    (plain,) = bottles_for(["alkalinity", "nitrate", "chloride"])
    assert (plain.hold_h, plain.shortest) == (48.0, "nitrate")
    assert "136.3" in plain.hold_source
    assert "published" in plain.hold_source


def test_remembered_hours_say_so() -> None:
    (pfas,) = bottles_for(["pfas"])
    assert "from memory" in pfas.hold_source
    (tannin,) = bottles_for(["tannin"])
    assert "common practice" in tannin.hold_source


def test_a_laboratorys_own_wish_goes_first() -> None:
    own = {"microbes": OwnBottle(hold_h=24.0, container="sterile bag"), "metals": OwnBottle(volume_ml=125)}
    metals, microbes = bottles_for(["e_coli", "iron"], own=own)
    assert (microbes.hold_h, microbes.container, microbes.hold_source) == (
        24.0,
        "sterile bag",
        "the laboratory's own",
    )
    assert (metals.volume_ml, metals.hold_h) == (125, 180 * DAY)
    with pytest.raises(OutsideValidRange, match="holding time"):
        bottles_for(["e_coli"], own={"microbes": OwnBottle(hold_h=0.0)})


def test_first_draw_carries_pipe_metals_only() -> None:
    assert drawn_in(["nitrate", "lead", "copper"], "first_draw") == ("lead", "copper")
    (bottle,) = bottles_for(["lead", "copper", "nitrate"], "first_draw")
    assert (bottle.kind.code, bottle.volume_ml) == ("first_draw", 1000)
    with pytest.raises(OutsideValidRange, match="mode"):
        drawn_in(["lead"], "boiled")
    with pytest.raises(OutsideValidRange, match="analyte"):
        bottles_for(["phlogiston"])


def test_microbes_are_drawn_last_and_what_is_read_at_the_tap_is_not_sent() -> None:
    bottles = bottles_for(["e_coli", "ph", "voc", "iron", "lead"])
    assert bottles[-1].kind.code == "microbes"
    assert [bottle.kind.code for bottle in sent(bottles)] == ["voc", "metals", "microbes"]


def test_steps_stand_only_where_they_are_needed() -> None:
    metals = " ".join(steps_of(bottles_for(["iron"])))
    assert "goggles" in metals
    assert "alcohol" not in metals
    assert "5 minutes" in metals
    microbes = " ".join(steps_of(bottles_for(["e_coli"])))
    assert "all-metal tap" in microbes
    assert "aerator" in microbes
    first = steps_of(bottles_for(["lead"], "first_draw"))
    assert "6 hours" in first[0]
    assert not any("full open" in step for step in first)


def test_packages_hold_known_tests_and_every_bottle_is_described() -> None:
    assert {code for package in packages() for code in package.analytes} <= set(ANALYTES)
    for kind in bottle_kinds():
        assert kind.name
        assert kind.container
        assert set(kind.hold_h) == set(kind.sources)
