"""Day length from date and latitude.

The sun's place among the stars follows the low-precision formulas of the U.S. Naval Observatory,
as given in the archive of the sundial mailing list
(https://www.mail-archive.com/sundial@uni-koeln.de/msg11185.html). Sunrise and sunset are where the
zenith distance is 90.833 degrees, as NOAA defines them: 34 minutes of arc for refraction and 16 for
the half width of the disc (http://www.jgiesen.de/astro/suncalc/calculations.htm).
"""

from datetime import date
from math import acos, asin, cos, degrees, radians, sin

ZENITH = radians(90.833)
_J2000 = date(2000, 1, 1).toordinal()  # the epoch is noon of this day
_DAYS_PER_CENTURY = 36525


def day_length(day: date, latitude: float) -> float:
    """Hours from sunrise to sunset at a latitude in degrees; 0 in polar night, 24 in polar day.

    Reckoned at longitude 0: elsewhere the same date comes up to half a day sooner or later.
    """
    if not -90 <= latitude <= 90:
        raise ValueError(f"found latitude {latitude}, allowed are -90 to 90 degrees")
    north, sun = radians(latitude), _declination(day)
    cos_half_day = (cos(ZENITH) - sin(north) * sin(sun)) / (cos(north) * cos(sun))
    half_day = degrees(acos(max(-1.0, min(1.0, cos_half_day))))
    return 2 * half_day / 15  # the sky turns 15 degrees an hour


def _declination(day: date) -> float:
    """The sun's angle north of the equator at noon, in radians."""
    century = (day.toordinal() - _J2000) / _DAYS_PER_CENTURY
    mean_longitude = 280.460 + 36000.770 * century
    anomaly = radians(357.528 + 35999.050 * century)
    longitude = radians(mean_longitude + 1.915 * sin(anomaly) + 0.020 * sin(2 * anomaly))
    obliquity = radians(23.4393 - 0.01300 * century)
    return asin(sin(obliquity) * sin(longitude))
