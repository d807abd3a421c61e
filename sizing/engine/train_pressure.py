"""What the pipe and the rise to the worst fixture take from the pressure, before any stage."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.engine.design import SupplySide
from sizing.engine.hydraulics import elevation_kpa, pipe_run_loss_kpa


@dataclass(frozen=True)
class PathLoss:
    """Pressure taken at peak flow, kPa: by the rise to the worst fixture, and by the pipe."""

    rise_kpa: float
    pipe_kpa: float

    @property
    def total_kpa(self) -> float:
        """Rise and pipe together."""
        return self.rise_kpa + self.pipe_kpa


def path_loss(supply: SupplySide, flow_l_min: float, temperature_c: float) -> PathLoss:
    """Rise and pipe friction between the tank and the worst fixture.

    Units: L/min, degC; kPa.
    Range: as ``hydraulics.pipe_run_loss_kpa``.
    Raises: ``OutsideValidRange`` for a pipe or flow that is not covered.
    Source: ``hydraulics``.

    >>> from sizing.engine.design import Measured
    >>> supply = SupplySide(Measured(30.0), 207.0, 345.0, 80.0, pipe_run_m=0.0, worst_fixture_height_m=3.0)
    >>> round(path_loss(supply, 30.0, 10.0).total_kpa, 1)
    29.4
    """
    rise = float(elevation_kpa(supply.worst_fixture_height_m))
    return PathLoss(rise, float(pipe_run_loss_kpa(supply, flow_l_min, temperature_c=temperature_c)))
