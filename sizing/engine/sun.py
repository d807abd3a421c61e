"""Sun on a panel: clear sky by month through ``pvlib``, and the geometry of the day as second method."""

from __future__ import annotations

import warnings
from datetime import date
from functools import lru_cache
from math import acos, cos, pi, radians, sin, tan

from sizing.engine.errors import OutsideValidRange
from sizing.engine.figures import figure
from sizing.engine.ranges import within

PRACTICE = "off-grid-practice"
TURBIDITY: float = figure(PRACTICE, "linke_turbidity").value
MODELS = ("ineichen", "haurwitz")


def _latitude(latitude: float) -> float:
    return float(within("latitude", latitude, low=-66.0, high=66.0, unit="deg", source="between the polar circles"))


@lru_cache(maxsize=512)
def clear_sky_kwh_m2(
    latitude: float,
    longitude: float,
    day: date,
    *,
    altitude_m: float = 0.0,
    tilt_deg: float = 0.0,
    azimuth_deg: float = 180.0,
    model: str = "ineichen",
    linke_turbidity: float = TURBIDITY,
    albedo: float = 0.2,
) -> float:
    """Sun on a panel on a cloudless day: an upper bound.

    Why: the panel of a 12 V site is sized on the worst month it is in use.
    Units: deg north, deg east, m, deg from level, deg from north; returns kWh/m2 a day.
    Equation: clear-sky irradiance (with the extraterrestrial irradiance of the day) every five minutes, turned to
    the panel with an isotropic sky, summed.
    Range: -66 to 66 deg of latitude, -180 to 180 of longitude; tilt 0 to 90; altitude -100 to 5,000 m.
    Raises: ``OutsideValidRange`` outside or for another model.
    Source: Ineichen or Haurwitz as in ``pvlib`` (published models, computed).

    >>> round(clear_sky_kwh_m2(45.0, -79.4, date(2025, 12, 21), altitude_m=300.0), 1)
    1.6
    """
    if model not in MODELS:
        raise OutsideValidRange("clear-sky model", model, source=f"one of {', '.join(MODELS)}")
    lat = _latitude(latitude)
    east = float(within("longitude", longitude, low=-180.0, high=180.0, unit="deg"))
    height = float(within("altitude", altitude_m, low=-100.0, high=5000.0, unit="m"))
    tilt = float(within("tilt", tilt_deg, low=0.0, high=90.0, unit="deg"))
    import pandas as pd
    from pvlib import irradiance
    from pvlib.location import Location

    hours = round(east / 15.0)
    zone = f"Etc/GMT{-hours:+d}" if hours else "UTC"
    times = pd.date_range(pd.Timestamp(day, tz=zone), periods=288, freq="5min")
    place = Location(lat, east, tz=zone, altitude=height)
    options = {"linke_turbidity": linke_turbidity} if model == "ineichen" else {}
    if tilt and model != "ineichen":
        raise OutsideValidRange("clear-sky model", model, source="a tilted panel needs the ineichen model")
    with warnings.catch_warnings():
        # pvlib still asks pandas for ``dayofyear``, a name pandas is about to drop; versions are locked.
        warnings.filterwarnings("ignore", message="DatetimeIndex.dayofyear is deprecated")
        sky = place.get_clearsky(times, model=model, **options)
        level = sky["ghi"]
        if tilt:
            sun = place.get_solarposition(times)
            level = irradiance.get_total_irradiance(
                tilt,
                azimuth_deg,
                sun["apparent_zenith"],
                sun["azimuth"],
                sky["dni"],
                sky["ghi"],
                sky["dhi"],
                albedo=albedo,
                model="isotropic",
            )["poa_global"]
    return float(level.fillna(0.0).sum() * 5.0 / 60.0 / 1000.0)


def monthly_sun_kwh_m2(
    latitude: float,
    longitude: float,
    *,
    altitude_m: float = 0.0,
    tilt_deg: float = 0.0,
    azimuth_deg: float | None = None,
    clearness: float = 1.0,
    year: int = 2025,
) -> tuple[float, ...]:
    """Sun on a panel for each month (its 21st day), clear sky times a stated clearness.

    Why: twelve numbers to lay beside the load; the worst month in use decides.
    Units: as ``clear_sky_kwh_m2``; ``clearness`` share of clear sky; returns twelve kWh/m2 a day. ``azimuth_deg``
    ``None`` faces the equator.
    Range: clearness more than 0 to 1.
    Raises: ``OutsideValidRange`` outside.
    Source: ``clear_sky_kwh_m2`` (computed) x clearness (stated by the designer).

    >>> sun = monthly_sun_kwh_m2(45.0, -79.4, tilt_deg=60.0)
    >>> len(sun), sun.index(min(sun)) in (10, 11, 0)
    (12, True)
    """
    share = float(within("clearness", clearness, low=0.0, high=1.0, low_open=True))
    facing = azimuth_deg if azimuth_deg is not None else (180.0 if latitude >= 0 else 0.0)
    return tuple(
        share
        * clear_sky_kwh_m2(
            latitude,
            longitude,
            date(year, month, 21),
            altitude_m=altitude_m,
            tilt_deg=tilt_deg,
            azimuth_deg=facing,
        )
        for month in range(1, 13)
    )


def declination_rad(day_of_year: int) -> float:
    """Declination of the sun.

    Why: length of day and height of the sun follow from it.
    Units: day 1 to 366; returns rad.
    Range: 1 to 366.
    Raises: ``OutsideValidRange`` outside.
    Source: Cooper's equation, 23.45 sin(360 (284 + n) / 365) (published).

    >>> round(declination_rad(172), 4)
    0.4093
    """
    number = within("day of the year", day_of_year, low=1, high=366)
    tilt, shift, year = figure(PRACTICE, "declination").value
    return float(radians(tilt) * sin(2.0 * pi * (shift + number) / year))


def day_length_h(latitude: float, day_of_year: int) -> float:
    """Hours between sunrise and sunset, geometric.

    Why: a quick look at how short winter days are.
    Units: deg, day; returns h.
    Range: -66 to 66 deg.
    Raises: ``OutsideValidRange`` outside.
    Source: 2/15 acos(-tan lat tan dec) (published), without refraction.

    >>> round(day_length_h(45.0, 355), 2)
    8.57
    """
    lat = radians(_latitude(latitude))
    return 24.0 / pi * acos(-tan(lat) * tan(declination_rad(day_of_year)))


def extraterrestrial_kwh_m2(latitude: float, day_of_year: int) -> float:
    """Sun on a level surface outside the atmosphere: no panel ever gets more.

    Why: second method, a ceiling for the clear-sky numbers.
    Units: deg, day; returns kWh/m2 a day.
    Range: -66 to 66 deg.
    Raises: ``OutsideValidRange`` outside.
    Source: Duffie and Beckman H0 with 1,367 W/m2 (published).

    >>> round(extraterrestrial_kwh_m2(45.0, 172), 2)
    11.65
    """
    lat, dec = radians(_latitude(latitude)), declination_rad(day_of_year)
    sunset = acos(-tan(lat) * tan(dec))
    swing, year = figure(PRACTICE, "sun_distance").value
    distance = 1.0 + swing * cos(2.0 * pi * day_of_year / year)
    height = cos(lat) * cos(dec) * sin(sunset) + sunset * sin(lat) * sin(dec)
    return float(24.0 / pi * figure(PRACTICE, "solar_constant").value / 1000.0 * distance * height)
