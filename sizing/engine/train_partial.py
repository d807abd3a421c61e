"""A partial line: what stands in it, the water behind it, and what it has cost and used up."""

from __future__ import annotations

from sizing.engine.design import StageKind
from sizing.engine.log_credits import NO_LOGS, Logs
from sizing.engine.stages.base import Stage
from sizing.engine.train_floor import MILLION, Costs
from sizing.engine.train_spot import Option
from sizing.engine.train_step import Feed
from sizing.engine.water import Water

PRESSING = (StageKind.BOOSTER, StageKind.REDUCER)  # kinds that change the pressure at no flow
FILTERS = (StageKind.SEDIMENT, StageKind.ULTRAFILTER)


class Path:
    """A line so far. Immutable; ``extend`` gives the next one. Money in cents, ``upkeep`` in millionths of an hour.

    ``loss`` is the pressure taken at peak with dirty filters (kPa), ``static`` the pressure at no flow (kPa),
    ``wall`` the wall used (m), ``watts`` the power.
    """

    __slots__ = (
        "cyst", "dose", "feed", "fine", "first", "flow", "life", "logs", "loss", "parent", "slot", "static", "upkeep",
        "used", "wall", "water", "water_id", "watts",
    )  # fmt: skip

    def __init__(self, water: Water, water_id: int, flow: float) -> None:
        self.parent: Path | None = None
        self.feed: Feed | None = None
        self.slot = -1
        self.water, self.water_id, self.flow = water, water_id, flow
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
    def hours(self) -> float:
        """Upkeep, hours a year."""
        return self.upkeep / MILLION

    @property
    def costs(self) -> Costs:
        """First and whole-life cost in cents, upkeep in millionths of an hour a year, pressure taken in kPa."""
        return self.first, self.life, self.upkeep, self.loss

    @property
    def state(self) -> tuple[object, ...]:
        """What the rest of the line can depend on, besides slot, water, costs and what is used up."""
        return self.flow, self.static, self.fine, self.cyst, self.dose, self.used


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
