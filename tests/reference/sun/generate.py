"""Sunrise, sunset and the hours with the sun above 5 degrees, by astral.

Writes sun_days.csv beside this file: wall times of the place, whole seconds.
An empty field means that the sun does not get there on that day.
"""

import csv
import pathlib
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from astral import Observer, SunDirection
from astral.sun import sunrise, sunset, time_at_elevation

# name, latitude, longitude, metres above the sea, zone, first day of a week
CASES = [
    ("winter-58-north", 58.0, 11.5, 10, "Europe/Stockholm", date(2026, 12, 14)),
    ("summer-58-north", 58.0, 11.5, 10, "Europe/Stockholm", date(2026, 6, 15)),
    ("winter-65-north", 65.0, 25.5, 20, "Europe/Helsinki", date(2026, 12, 14)),
    ("spring-change", 53.9, -2.9, 15, "Europe/London", date(2026, 3, 26)),
    ("autumn-change", 53.9, -2.9, 15, "Europe/London", date(2026, 10, 22)),
    ("autumn-change-new-york", 40.7, -74.0, 10, "America/New_York", date(2026, 10, 29)),
    ("half-hour-zone", 18.5, 73.9, 560, "Asia/Kolkata", date(2026, 2, 2)),
    ("three-quarter-zone", 27.7, 85.3, 1400, "Asia/Kathmandu", date(2026, 11, 2)),
    ("half-hour-change", -31.5, 159.1, 10, "Australia/Lord_Howe", date(2026, 10, 1)),
    ("southern-winter", -43.5, 172.6, 20, "Pacific/Auckland", date(2026, 6, 22)),
    ("southern-summer", -43.5, 172.6, 20, "Pacific/Auckland", date(2026, 12, 14)),
    ("altitude-2000", 39.6, -105.9, 2000, "America/Denver", date(2026, 9, 14)),
]


def wall(moment, zone):
    return moment.astimezone(zone).strftime("%Y-%m-%dT%H:%M:%S")


def attempt(function, day, zone):
    """The moment on the local day; astral itself counts by days of another zone."""
    for asked in (day, day - timedelta(days=1), day + timedelta(days=1)):
        try:
            moment = function(asked)
        except ValueError:
            continue
        if moment.astimezone(zone).date() == day:
            return wall(moment, zone)
    return ""


def main():
    target = pathlib.Path(__file__).with_name("sun_days.csv")
    with target.open("w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        names = "case latitude longitude altitude_m zone date sunrise sunset up5 down5"
        out.writerow(names.split())
        for name, latitude, longitude, altitude, zone_name, first in CASES:
            zone = ZoneInfo(zone_name)
            # The horizon of the sea: height moves the frame's light, not its hill.
            place = Observer(latitude, longitude, 0.0)
            for offset in range(7):
                day = first + timedelta(days=offset)

                def crossing(asked, direction):
                    return time_at_elevation(
                        place, 5.0, asked, direction, tzinfo=zone, with_refraction=True
                    )

                out.writerow(
                    [
                        name,
                        latitude,
                        longitude,
                        altitude,
                        zone_name,
                        day,
                        attempt(lambda d: sunrise(place, d, tzinfo=zone), day, zone),
                        attempt(lambda d: sunset(place, d, tzinfo=zone), day, zone),
                        attempt(lambda d: crossing(d, SunDirection.RISING), day, zone),
                        attempt(lambda d: crossing(d, SunDirection.SETTING), day, zone),
                    ]
                )


main()
