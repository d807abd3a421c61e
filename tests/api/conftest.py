"""A household that can be designed for, and what hangs on it."""

from __future__ import annotations

from typing import Any

import pytest

from sizing.catalogue.actions import load_starter
from sizing.engine.stages.starter import load_starter as read_starter
from tests import factories
from tests.whole import whole


@pytest.fixture
def ready(dealer: Any, site: Any) -> Any:
    """``site`` with a catalogue, a flow test and a raw-water test: enough to design."""
    load_starter(dealer=dealer, products=read_starter())
    factories.FlowTestFactory(site=site)
    factories.WaterTestFactory(site=site, results={"iron": 0.9, "hardness": 180.0, "ph": 7.2, "turbidity": 0.4})
    return site


@pytest.fixture
def busy(site: Any, technician: Any) -> Any:
    """``site`` with one row of everything the API shows."""
    return whole(site, technician=technician)
