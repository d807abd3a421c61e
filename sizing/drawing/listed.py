"""The water path in words: the same facts as the drawing, as a list for phones and for screen readers."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sizing.drawing.cells import counted, glued, side_by_side
from sizing.drawing.element import number
from sizing.drawing.glyphs import fragment, glyph_of
from sizing.drawing.pipes import gap_standings, tap_standing
from sizing.drawing.speech import say
from sizing.drawing.values import (
    LedgerRow,
    PathPoint,
    PathStage,
    Reading,
    StageState,
    Standing,
    WaterPath,
)

_LEAST_HIGH = 92.0  # a low glyph is not blown up to the size of a tank
RAIL_WORDS = {
    Standing.HEALTH: "past a health limit",
    Standing.AESTHETIC: "past an aesthetic limit",
    Standing.WITHIN: "inside every limit tested",
    Standing.UNKNOWN: "not known",
    Standing.NONE: "not known",
}


@dataclass(frozen=True)
class ListReading:
    """One value at a point, in words. ``verdict`` says what a value past its limit is past; else empty."""

    label: str
    text: str
    unit: str
    limit: str
    measured: bool
    standing: Standing
    verdict: str = ""

    @property
    def past(self) -> bool:
        """Whether the value is past its limit."""
        return self.standing.past

    @property
    def words(self) -> str:
        """The value as a phrase: "total coliform 4 per 100 mL, past the health limit, none"."""
        value = " ".join(part for part in (self.label, self.text, self.unit) if part)
        return f"{value}, {self.verdict}" if self.past else value


@dataclass(frozen=True)
class ListItem:
    """One entry. ``kind`` is source, tank, branch, point, stage or taps; ``rail`` how the pipe is drawn here;
    ``mark`` the number or letter; ``glyph`` an SVG without words; ``words`` the whole entry as one sentence."""

    kind: str
    rail: Standing
    name: str
    words: str
    mark: str = ""
    note: str = ""
    purpose: str = ""
    glyph: str = ""
    state: StageState | None = None
    when: str = ""
    day: str = ""
    measured: tuple[ListReading, ...] = ()
    expected: tuple[ListReading, ...] = ()
    rail_words: str = ""  # how the water stands here

    @property
    def known(self) -> bool:
        """Whether anything is known at this point."""
        return bool(self.measured or self.expected)


def glyph_svg(stage: PathStage) -> str:
    """A stage's glyph alone, for a list or a table; its name must stand beside it."""
    glyph = glyph_of(stage)
    high = max(glyph.foot - glyph.top + 8, _LEAST_HIGH)
    top = (glyph.top + glyph.foot - high) / 2
    box = " ".join(number(side) for side in (-glyph.cell / 2, top, glyph.cell, high))
    return (
        f'<svg class="wp mini gl" width="62" height="74" viewBox="{box}" aria-hidden="true" focusable="false">'
        f'<g class="is-{stage.state.value}">{fragment(glyph.name)}</g></svg>'
    )


def _tank_svg() -> str:
    return (
        '<svg class="wp mini gl" width="62" height="74" viewBox="-30 -36 60 154" '
        f'aria-hidden="true" focusable="false"><g>{fragment("ptank")}</g></svg>'
    )


def path_list(path: WaterPath) -> list[ListItem]:
    """Every fact of the drawing in the order the water meets it: source, tank, points, stages, taps."""
    standings = gap_standings(path)
    rows = {row.code: row for row in path.rows}
    items = [_source(path, standings[0]), *_before(path, standings[0]), _point(path.points[0], rows, standings[0])]
    for gap, stage in enumerate(path.main):
        items.append(_stage(stage, standings[gap]))
        items.append(_point(path.points[gap + 1], rows, standings[gap + 1]))
    items += [
        _stage(unit, standings[-1], say("hot line, ahead of the {heater}", heater=path.taps.heater))
        for unit in path.heated
    ]
    items.append(_taps(path, standings[-1]))
    after = tap_standing(path)
    items += [
        _stage(unit, standings[-1] if k == 0 else after, path.taps.drinking_name.lower())
        for k, unit in enumerate(path.polishing)
    ]
    if path.tap_point is not None:
        items.append(_point(path.tap_point, rows, after))
    if path.polishing:
        name, note = path.taps.drinking_name, path.taps.drinking
        items.append(ListItem("taps", after, name, _sentence(name, note), note=note))
    return [replace(item, rail_words=say(RAIL_WORDS[item.rail])) for item in items]


def _sentence(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _source(path: WaterPath, rail: Standing) -> ListItem:
    solar = say("pump on solar power") if path.source.solar else ""
    note = _sentence(path.source.detail, solar)
    return ListItem("source", rail, path.source.name, _sentence(path.source.name, note), note=note)


def _before(path: WaterPath, rail: Standing) -> list[ListItem]:
    """Pressure tank and untreated branch."""
    out: list[ListItem] = []
    if path.tank is not None:
        note = _sentence(path.tank.volume, path.tank.pressure)
        name = say("Pressure tank")
        out.append(ListItem("tank", rail, name, _sentence(name, note), note=note, glyph=_tank_svg()))
    if path.branch is not None:
        note = say("branches off here: {note}", note=path.branch.note)
        out.append(ListItem("branch", rail, path.branch.name, f"{path.branch.name} {note}", note=note))
    return out


def _reading(reading: Reading, row: LedgerRow) -> ListReading:
    label = row.label if not row.label[1:2].islower() or len(row.label) < 3 else row.label[:1].lower() + row.label[1:]
    verdict = _verdict(reading.standing, row.limit)
    return ListReading(label, reading.text, row.unit, row.limit, reading.measured, reading.standing, verdict)


def _verdict(standing: Standing, limit: str) -> str:
    """What a value past its limit is past: "past the health limit, none"."""
    if not standing.past:
        return ""
    health = standing is Standing.HEALTH
    said = say("past the health limit") if health else say("past the aesthetic limit")
    return f"{said}, {limit}" if limit else said


def _point(point: PathPoint, rows: dict[str, LedgerRow], rail: Standing) -> ListItem:
    """A point with all its values, the measured ones first, in the ledger's order."""
    ordered = [found for code in rows if (found := point.reading(code)) is not None]
    read = [_reading(reading, rows[reading.row]) for reading in ordered]
    measured = tuple(reading for reading in read if reading.measured)
    expected = tuple(reading for reading in read if not reading.measured)
    day = point.day or point.date
    said: list[str] = []
    if measured:
        head = f"{say('measured')} {day}" if day else say("measured")
        said.append(f"{head}: " + "; ".join(reading.words for reading in measured))
    if expected:
        said.append(f"{say('expected')}: " + "; ".join(reading.words for reading in expected))
    name = say("Point {letter}", letter=point.letter)
    words = f"{name}, " + (". ".join(said) if said else say("nothing known"))
    return ListItem(
        "point",
        rail,
        name,
        words,
        mark=point.letter,
        day=day,
        measured=measured,
        expected=expected,
    )


def _stage(stage: PathStage, rail: Standing, place: str = "") -> ListItem:
    """A stage with its state, what comes next and when; a proposed one with its sizes."""
    if stage.state is StageState.PROPOSED and stage.size:
        when = _sentence(*stage.size)
    elif stage.state is StageState.OVERDUE and stage.date:
        due = say("was due {date}", date=stage.date)
        when = f"{stage.part} {due}" if stage.part else due
    else:
        when = _sentence(stage.part, stage.date)
    purpose = stage.purpose or say(glyph_of(stage).purpose)
    count = side_by_side(stage) if stage.count > 1 else ""
    name = _sentence(glued(stage.name), place, count)
    head = say("Stage {number}", number=stage.number)
    return ListItem(
        "stage",
        rail,
        name,
        f"{head}, {_sentence(name, purpose)}: {_sentence(stage.state.word, when)}",
        mark=str(stage.number),
        purpose=purpose,
        glyph=glyph_svg(stage),
        state=stage.state,
        when=when,
    )


def _taps(path: WaterPath, rail: Standing) -> ListItem:
    cold = say("cold: {places}", places=path.taps.cold) if path.taps.cold else ""
    hot = say("hot, through the {heater}: {places}", heater=path.taps.heater, places=path.taps.hot)
    note = "; ".join(part for part in (cold, hot if path.taps.hot else "") if part)
    both = say("{hot} and {cold}", hot=path.taps.hot_name, cold=path.taps.cold_name.lower())
    name = both if path.taps.hot else path.taps.cold_name
    return ListItem("taps", rail, name, _sentence(name, note), note=note)


def described(path: WaterPath) -> str:
    """One sentence on the drawing for those who do not see it."""
    main = len(path.main)
    parts = [path.source.name]
    if path.tank is not None:
        parts.append(say("pressure tank"))
    if path.branch is not None:
        parts.append(say("{tap} before treatment", tap=path.branch.name.lower()))
    stages = ": " + ", ".join(stage.name for stage in path.main) if main else ""
    parts.append((say("one stage") if main == 1 else say("{count} stages", count=counted(main))) + stages)
    parts.append(say("hot and cold split") if path.taps.hot else say("cold taps"))
    parts += [say("{unit} on the hot line", unit=unit.name) for unit in path.heated]
    tap = path.taps.drinking_name.lower()
    parts += [say("{unit} at the {tap}", unit=unit.name, tap=tap) for unit in path.polishing]
    head = f"{path.notice}. " if path.notice else ""
    return f"{head}{', '.join(parts)}. " + say("The list of the water path gives the same facts in words.")
