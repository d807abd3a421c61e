"""Friction, fittings, bores, water properties and the atmosphere."""

import numpy as np
import pytest

from sizing.engine.hydraulics import elevation_kpa
from sizing.engine.liquid import atmosphere_kpa, density_and_viscosity, density_kg_m3, viscosity_pa_s
from sizing.engine.measures import KPA_PER_M, KPA_PER_PSI, L_MIN_PER_M3_S, L_PER_GAL, M_PER_FT, M_PER_IN
from sizing.engine.pipes import (
    bore_m,
    explicit_factor,
    fitting_length_m,
    friction_factor,
    hazen_williams_kpa,
    pipe_loss_kpa,
    screwed_fitting,
    velocity_m_s,
)
from tests.engine.worked_examples.rows import Row, cases, run

SIXTY_F = (60 - 32) / 1.8
MATERIALS = {"copper type L": "copper", "PEX SDR9": "pex", "CPVC CTS": "cpvc", "schedule 40": "pvc"}


def _hazen(inputs):
    length = inputs.get("length_ft", 100.0) * M_PER_FT
    c = inputs.get("C", 140.0)
    return hazen_williams_kpa(inputs["gpm"] * L_PER_GAL, inputs["id_in"] * M_PER_IN, length, c=c)


def _darcy(inputs):
    return pipe_loss_kpa(
        inputs["gpm"] * L_PER_GAL,
        inputs["id_in"] * M_PER_IN,
        100 * M_PER_FT,
        temperature_c=SIXTY_F,
        roughness_m=inputs["eps_mm"] / 1000,
    )


def _bore(inputs):
    material, _, size = inputs["pipe"].rpartition(" ")
    return bore_m(MATERIALS[material], size) / M_PER_IN


def _explicit(inputs):
    rough = inputs.get("eD", inputs.get("eps_m", 0.0) / inputs.get("D_m", 1.0))
    # Two rows of the same numbers tell the forms apart by their printed value only.
    return {
        "swamee_jain": explicit_factor(inputs["Re"], rough),
        "haaland": explicit_factor(inputs["Re"], rough, form="haaland"),
    }


def _closest(row):
    return lambda i: min(_explicit(i).values(), key=lambda value: abs(value - float(row.expected)))


def _reynolds(inputs):
    """At the bore and velocity printed, with the engine's own flow conversion."""
    flow = inputs["V_m_s"] * np.pi / 4 * inputs["D_m"] ** 2 * L_MIN_PER_M3_S
    return velocity_m_s(flow, inputs["D_m"]) * inputs["D_m"] / inputs["nu_m2_s"]


def _darcy_head(inputs):
    """f is printed; the head follows from loss per K = f L/d at the printed velocity."""
    flow = inputs["V_m_s"] * np.pi / 4 * inputs["D_m"] ** 2 * L_MIN_PER_M3_S
    k = inputs["f"] * inputs["L_m"] / inputs["D_m"]
    return pipe_loss_kpa(flow, inputs["D_m"], 0.0, minor_k=k) / (density_kg_m3(10.0) * KPA_PER_M / 1000)


def _minor(inputs):
    rho, _ = density_and_viscosity(10.0)
    loss = pipe_loss_kpa(inputs["gpm"] * L_PER_GAL, inputs["id_in"] * M_PER_IN, 0.0, minor_k=inputs["K"])
    return loss / (rho * KPA_PER_M / 1000) / M_PER_FT


CHECKS = {
    "hazen-williams, printed table": lambda i: _hazen(i) / KPA_PER_M / M_PER_FT,
    "hazen-williams, network engine": lambda i: _hazen(i) / KPA_PER_M / M_PER_FT,
    "hazen-williams, copper table": lambda i: _hazen(i) / KPA_PER_PSI,
    "friction factor": lambda i: friction_factor(i["Re"], i.get("eD", 0.0)),
    "reynolds": _reynolds,
    "darcy head": _darcy_head,
    "darcy loss": lambda i: _darcy(i) / KPA_PER_PSI,
    "velocity": lambda i: velocity_m_s(i["gpm"] * L_PER_GAL, i["id_in"] * M_PER_IN) / M_PER_FT,
    "bore": _bore,
    "feet of water per psi": lambda i: i["psi"] * KPA_PER_PSI / elevation_kpa(M_PER_FT),
    "rise": lambda i: elevation_kpa(i["rise_ft"] * M_PER_FT) / KPA_PER_PSI,
    "fitting length": lambda i: fitting_length_m(i["fitting"], i["size_in"]) / M_PER_FT,
    "screwed K": lambda i: screwed_fitting(i["fitting"], 0.02)[0],
    "screwed length": lambda i: screwed_fitting(i["fitting"], i["id_in"] * M_PER_IN)[1] / M_PER_FT,
    "minor loss": _minor,
    "atmosphere": lambda i: atmosphere_kpa(i["altitude_m"]),
    "viscosity": lambda i: viscosity_pa_s(i["T_C"]) * 1000,
    "density": lambda i: density_kg_m3(i["T_C"]),
    "gpm in m3/s": lambda i: i["gpm"] * L_PER_GAL / L_MIN_PER_M3_S,
    "inch in mm": lambda i: i["in"] * M_PER_IN * 1000,
}


@pytest.mark.parametrize("row", cases("pipes"))
def test_pipes_agree_with_what_is_printed(row: Row) -> None:
    run(row, {**CHECKS, "explicit factor": _closest(row)})
