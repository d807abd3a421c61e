"""The one train that is best over the years: a third of the search, where nothing else is asked."""

from __future__ import annotations

from sizing.engine.design import DesignRequest, Train
from sizing.engine.stages.registry import stage_for
from sizing.engine.train_bound import Bound
from sizing.engine.train_duty import brief_of
from sizing.engine.train_path import Line
from sizing.engine.train_report import train_of
from sizing.engine.train_search import By, Search, options_of


def best_train(request: DesignRequest) -> Train | None:
    """The admissible train with the least whole-life cost; ``None`` where none passes.

    Why: a round over thousands of households asks only whether the best train would be another one now.
    Units: canonical.
    Range: any request.
    Raises: ``OutsideValidRange`` naming a field. What is missing or conflicts ``choose_train`` says.
    Source: the search of ``choose_train``, by whole-life cost alone.

    >>> from sizing.engine.design import *
    >>> from sizing.engine.water import Water
    >>> request = DesignRequest(Water({"total_coliform": 0.0}), SourceType.DRILLED_WELL,
    ...     SupplySide(Measured(30.0), 276.0, 414.0, 150.0), (Fixture("shower", 1),), Occupancy(2, 4), SiteLimits(),
    ...     Goals(), ())
    >>> best_train(request).stages
    ()
    """
    brief = brief_of(request)
    line = Line(brief, options_of([stage_for(product) for product in request.catalogue], brief))
    paths = Search(line, Bound(line), By.LIFE).run().paths
    return train_of(line, paths[0], f"Least over {request.cost.years} years") if paths else None
