"""A partial line: what stands in it, the water behind it, and what it has cost and used up."""

from __future__ import annotations

from collections.abc import Mapping

from sizing.engine.design import StageKind
from sizing.engine.figures import figure
from sizing.engine.log_credits import NO_LOGS, Logs
from sizing.engine.stages.base import Stage
from sizing.engine.stages.practice_figures import DOCUMENT
from sizing.engine.train_floor import MILLION, Costs
from sizing.engine.train_spot import Option
from sizing.engine.train_step import Feed
from sizing.engine.water import Water

PRESSING = (StageKind.BOOSTER, StageKind.REDUCER)  # kinds that change the pressure at no flow
FILTERS = (StageKind.SEDIMENT, StageKind.ULTRAFILTER)
CONTACT, PARTICLES = 1, 2  # bits of what chlorine still owes: time, a filter for what it turned solid
CLEARING = (
    StageKind.SEDIMENT,
    StageKind.BACKWASH,
    StageKind.AIROX,
    StageKind.CATALYTIC,
    StageKind.PERMANGANATE,
    StageKind.CARBON,
    StageKind.ULTRAFILTER,
)
"""Kinds that hold back what chlorine turned to particles."""


class Path:
    """A line so far. Immutable; ``extend`` gives the next one. Money in cents, ``upkeep`` in millionths of an hour.

    ``loss`` is the pressure taken at peak with dirty filters (kPa), ``static`` the pressure at no flow (kPa),
    ``wall`` the wall used (m), ``watts`` the power, ``owes`` what a chlorine feed still wants behind it (bits).
    """

    __slots__ = (
        "cyst", "dose", "feed", "fine", "first", "flow", "hot", "hot_id", "life", "logs", "loss", "owes", "parent",
        "slot", "static", "upkeep", "used", "wall", "water", "water_id", "watts",
    )  # fmt: skip

    def __init__(self, water: Water, water_id: int, flow: float) -> None:
        self.parent: Path | None = None
        self.feed: Feed | None = None
        self.slot = -1
        self.owes = 0
        self.water, self.water_id, self.flow = water, water_id, flow
        self.hot: Water | None = None  # behind a softener on the hot line
        self.hot_id = -1
        self.fine = self.cyst = False
        self.dose = self.static = 0.0
        self.logs: Logs = NO_LOGS
        self.used: tuple[StageKind, ...] = ()
        self.loss = self.wall = self.watts = 0.0
        self.first = self.life = self.upkeep = 0

    @property
    def feeds(self) -> tuple[Feed, ...]:
        """The stages with what they are fed, first to last."""
        found: list[Feed] = []
        path: Path | None = self
        while path is not None and path.feed is not None:
            found.append(path.feed)
            path = path.parent
        return tuple(reversed(found))

    @property
    def options(self) -> tuple[Option, ...]:
        """What stands in it, first to last."""
        return tuple(feed.option for feed in self.feeds)

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Its stages, first to last."""
        return tuple(feed.option.stage for feed in self.feeds)

    @property
    def at_tap(self) -> bool:
        """Whether the last stage stands at the drinking tap, so that the line ends here."""
        return self.feed is not None and self.feed.option.at_tap

    @property
    def entry(self) -> Water:
        """The water entering the house."""
        return self.parent.water if self.at_tap and self.parent is not None else self.water

    @property
    def hot_water(self) -> Water:
        """The water entering the heater."""
        return self.entry if self.hot is None else self.hot

    @property
    def hours(self) -> float:
        """Upkeep, hours a year."""
        return self.upkeep / MILLION

    @property
    def costs(self) -> Costs:
        """First and whole-life cost in cents, upkeep in millionths of an hour a year; pressure, wall, power taken."""
        return self.first, self.life, self.upkeep, self.loss, self.wall, self.watts

    @property
    def state(self) -> tuple[object, ...]:
        """What the rest of the line can depend on, besides slot, water, costs and what is used up."""
        return self.flow, self.static, self.fine, self.cyst, self.dose, self.used, self.owes, self.hot_id


def pressed(path: Path, stage: Stage) -> float:
    """The pressure at no flow behind a booster or a reducer, kPa.

    Units: kPa.
    Range: any path.
    Raises: nothing.
    Source: a pump adds its shut-off pressure, a reducing valve holds what it is set to (product ratings).

    >>> from types import SimpleNamespace as N
    >>> reducer = N(kind=StageKind.REDUCER, product=N(ratings={"set_kpa": 380.0}))
    >>> pressed(N(static=600.0), reducer), pressed(N(static=300.0), reducer)
    (380.0, 300.0)
    """
    ratings = stage.product.ratings
    if stage.kind is StageKind.BOOSTER:
        return path.static + float(ratings["shutoff_kpa"])
    return min(path.static, float(ratings["set_kpa"]))


def owed(path: Path, stage: Stage) -> int:
    """What chlorine in the line still wants behind one more stage.

    Units: bits (``CONTACT``, ``PARTICLES``).
    Range: any path and stage.
    Raises: nothing.
    Source: chlorine, then a contact tank, then a filter (common practice; Oregon State University, Extoxnet).

    >>> from types import SimpleNamespace as N
    >>> path = N(owes=0, water=Water({"sulphide": 0.8}))
    >>> owed(path, N(kind=StageKind.CHLORINE)), owed(N(owes=3), N(kind=StageKind.RETENTION))
    (3, 2)
    """
    owes = path.owes
    if stage.kind is StageKind.CHLORINE:
        solids: Mapping[str, float] = figure(DOCUMENT, "chlorine_filter_from").value
        turned = any(path.water.get(code, 0.0) > least for code, least in solids.items())
        return CONTACT | PARTICLES if turned else CONTACT
    if stage.kind is StageKind.RETENTION:
        return owes & ~CONTACT
    return 0 if owes == PARTICLES and stage.kind in CLEARING else owes


def added(path: Path, feed: Feed) -> Logs:
    """The log credits of a path with one more stage.

    Units: log10, in the order of ``log_credits.ORGANISMS``.
    Range: any path and feed.
    Raises: nothing.
    Source: credits of different processes add up (40 CFR 141.70); of two filters in a row for cysts one counts, the
    engine's careful choice.

    >>> added.__name__
    'added'
    """
    earned = feed.logs
    if path.cyst and feed.option.stage.kind in FILTERS:
        earned = (0.0, 0.0, earned[2])
    known = path.logs
    return known[0] + earned[0], known[1] + earned[1], known[2] + earned[2]
