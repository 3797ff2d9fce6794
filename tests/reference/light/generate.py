#!/usr/bin/env python3
"""Regenerates every CSV in this folder (check values for the light model).

Usage:  pip install -r requirements.txt && python generate.py [output folder]

Sun position, spectral irradiance, air mass, pressure and clear-sky global
irradiance come from pvlib.  Ozone climatology, action spectra, cloud factors,
tilt under cloud, exposure integration, windows and the dose posterior are
small formulas written here a second time, apart from the Rust code; the doc
comments of src/light/ state each of them in words.
All numbers are plain decimal, times are UTC (ISO 8601) unless a column says
otherwise.  The script is deterministic.
"""
import csv
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from pvlib import atmosphere, clearsky, irradiance, solarposition
from pvlib.spectrum import spectrl2
from pvlib.spectrum.spectrl2 import _SPECTRL2_COEFFS
from scipy.stats import norm

OUT = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent
DELTA_T = 69.2          # s, fixed for reproducibility (TT - UT1)
TEMP_C = 12.0           # pvlib's default annual mean temperature for refraction
NB = 21                 # rows of the coefficient table used: 300..450 nm
WL = _SPECTRL2_COEFFS["wavelength"][:NB].copy()
DEFAULTS = dict(aod500=0.15, alpha=1.14, ssa400=0.945, asym=0.65, wvf=0.095,
                albedo=0.05, pw_cm=1.5)


def write(name, header, rows):
    with open(OUT / name, "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows(rows)
    print(f"{name}: {len(rows)} rows")


def r(x, n=6):
    x = float(x)
    return "" if not np.isfinite(x) else f"{x:.{n}f}"


def g(x, n=10):
    return f"{float(x):.{n}g}"


# ---------------------------------------------------------------- atmosphere
def van_heuklon_du(lat, lon, doy):
    """Total ozone column in Dobson units; lon east positive, doy 1..366."""
    if lat > 0:
        a, beta, c, f, h = 150.0, 1.28, 40.0, -30.0, 3.0
        i = 20.0 if lon > 0 else 0.0
    else:
        a, beta, c, f, h = 100.0, 1.5, 30.0, 152.625, 2.0
        i = -75.0
    s = lambda deg: np.sin(np.radians(deg))
    return 235.0 + (a + c * s(0.9865 * (doy + f)) + 20.0 * s(h * (lon + i))) * s(beta * lat) ** 2


def airmass(app_zen):
    return atmosphere.get_relative_airmass(app_zen, model="kastenyoung1989")


def spectrum(app_zen, doy, ozone_du, pressure_pa, aod500=None, tilt=0.0, aoi=None,
             albedo=None, alpha=None, ssa400=None):
    """pvlib SPCTRL2, first 21 bands.  1-d arrays in, dict of (21, N) out."""
    d = DEFAULTS
    z = np.atleast_1d(np.asarray(app_zen, float))
    n = z.size
    full = lambda v, dflt: np.full(n, dflt if v is None else v, float) if np.ndim(v) == 0 else np.asarray(v, float)
    aoi = z if aoi is None else np.atleast_1d(np.asarray(aoi, float))
    out = spectrl2(
        apparent_zenith=z, aoi=aoi, surface_tilt=full(tilt, 0.0),
        ground_albedo=full(albedo, d["albedo"]),
        surface_pressure=full(pressure_pa, 101325.0), relative_airmass=airmass(z),
        precipitable_water=np.full(n, d["pw_cm"]), ozone=full(ozone_du, 300.0) / 1000.0,
        aerosol_turbidity_500nm=full(aod500, d["aod500"]),
        dayofyear=full(doy, 1), scattering_albedo_400nm=d["ssa400"] if ssa400 is None else ssa400,
        alpha=d["alpha"] if alpha is None else alpha,
        wavelength_variation_factor=d["wvf"], aerosol_asymmetry_factor=d["asym"])
    return {k: (v[:NB] if v.ndim == 2 else v[:NB]) for k, v in out.items()}


# ------------------------------------------------------------ action spectra
RECO = {300: .70, 305: .74, 310: .78, 315: .82, 320: .86, 325: .90, 330: .93,
        335: .96, 340: .98, 345: 1.0, 350: 1.0, 360: 1.0, 370: .97, 380: .90,
        390: .80, 400: .65, 410: .48, 420: .33, 430: .20, 440: .10, 450: .05}
SPECTRA = {
    "reco": np.array([RECO[int(w)] for w in WL]),
    "uva_flat": ((WL >= 320) & (WL <= 400)).astype(float),
    "peak365": np.exp(-0.5 * ((WL - 365.0) / 20.0) ** 2),
    "flat450": (WL >= 320).astype(float),
    "short_uv": np.exp(-(WL - 300.0) / 50.0),
}


def band(values, weights):
    """Trapezoid over the 21 nodes (5 nm steps to 350, then 10 nm)."""
    v = values * weights[:, None] if values.ndim == 2 else values * weights
    return np.trapezoid(v, WL, axis=0)


# -------------------------------------------------------------------- clouds
UV_EXP = 0.85


def cmf_from_total(n):
    """n = total cloud cover 0..1."""
    return (1.0 - 0.75 * n ** 3.4) ** UV_EXP


LAYER_C = (0.70, 0.65, 0.40)   # low, mid, high: UV loss of a full layer


def cmf_from_layers(low, mid, high, total=None):
    wl, wm, wh = low, mid * (1 - low), high * (1 - low) * (1 - mid)
    s = wl + wm + wh
    if s <= 0:
        return 1.0
    n = s if total is None else max(total, max(low, mid, high))
    c = (LAYER_C[0] * wl + LAYER_C[1] * wm + LAYER_C[2] * wh) / s
    return 1.0 - c * min(n, 1.0) ** 3


def cmf_from_ghi(ghi, ghi_clear):
    k = min(max(ghi / ghi_clear, 0.0), 1.1)
    return k ** UV_EXP


def cmf_from_uvi(uvi, uvi_clear):
    return min(max(uvi / uvi_clear, 0.0), 1.1)


def cloudy_plane(cmf, tb, beam_h, diff_h, beam_t, diff_t, tilt, albedo):
    """Effective irradiance on a tilted frame under cloud (band values)."""
    eh = cmf * (beam_h + diff_h)
    tb = min(tb, eh / beam_h) if beam_h > 0 else 0.0
    dcl = eh - tb * beam_h
    vf = (1 + np.cos(np.radians(tilt))) / 2
    f_clear = diff_t / diff_h if diff_h > 0 else vf
    f = tb * f_clear + (1 - tb) * vf
    return tb * beam_t + dcl * f + eh * albedo * (1 - np.cos(np.radians(tilt))) / 2


# ------------------------------------------------------------------ 1. sun
def sun(times, lat, lon, alt, pressure=None):
    if pressure is None:
        pressure = atmosphere.alt2pres(alt)
    return solarposition.get_solarposition(times, lat, lon, altitude=alt, pressure=pressure,
                                           method="nrel_numpy", temperature=TEMP_C, delta_t=DELTA_T)


def make_spa_example():
    t = pd.DatetimeIndex(["2003-10-17T19:30:30Z"])
    sp = solarposition.spa_python(t, 39.742476, -105.1786, altitude=1830.14, pressure=82000,
                                  temperature=11, delta_t=67.0, atmos_refract=0.5667)
    sp.index = t
    zen, az = sp["apparent_zenith"].iloc[0], sp["azimuth"].iloc[0]
    # table A5.1 of the report; the slope's azimuth rotation -10 deg is from south, west positive
    aoi = float(irradiance.aoi(30.0, 170.0, zen, az))
    rts = solarposition.sun_rise_set_transit_spa(pd.DatetimeIndex(["2003-10-17"]).tz_localize("Etc/GMT+7"),
                                                 39.742476, -105.1786, delta_t=67.0)
    u = lambda c: rts[c].iloc[0].tz_convert("UTC").strftime("%Y-%m-%dT%H:%M:%S.%f")[:-4]
    pub = [("topocentric_zenith_refracted_deg", "50.11162", r(zen, 6)),
           ("topocentric_azimuth_deg", "194.34024", r(az, 6)),
           ("incidence_slope30_rot-10_deg", "25.18700", r(aoi, 6)),
           ("topocentric_elevation_unrefracted_deg", "39.872046", r(sp["elevation"].iloc[0], 6)),
           ("topocentric_elevation_refracted_deg", "39.888378", r(sp["apparent_elevation"].iloc[0], 6)),
           ("equation_of_time_min", "14.641503", r(sp["equation_of_time"].iloc[0], 6)),
           ("sunrise_utc", "13:12:43.46", u("sunrise")),
           ("transit_utc", "18:46:04.97", u("transit")),
           ("sunset_utc", "00:20:19.19", u("sunset"))]
    write("spa_example.csv", ["quantity", "published", "pvlib"], pub)


SITES = [(35.0, 25.0, 50), (43.0, 12.0, 300), (51.0, 15.0, 100), (58.0, 16.0, 20),
         (65.0, 25.0, 10), (-34.0, 18.0, 60), (1.0, -78.0, 2800), (46.5, 9.5, 1600),
         (51.5, -0.1, 10), (-43.5, 172.6, 20)]


def make_sun_positions():
    rows = []
    rng = np.random.default_rng(20270101)
    for lat, lon, alt in SITES:
        stamps = []
        for _ in range(21):
            day = int(rng.integers(0, 730))
            # local mean solar time between 03:00 and 21:00, whole seconds
            sec = int(rng.integers(3 * 3600, 21 * 3600))
            stamps.append(pd.Timestamp("2026-07-01", tz="UTC") + pd.Timedelta(days=day)
                          + pd.Timedelta(seconds=sec - int(round(lon * 240))))
        t = pd.DatetimeIndex(sorted(stamps))
        p = atmosphere.alt2pres(alt)
        sp = sun(t, lat, lon, alt, p)
        for ts, s in sp.iterrows():
            rows.append([ts.strftime("%Y-%m-%dT%H:%M:%SZ"), lat, lon, alt, r(p / 100, 4), TEMP_C, DELTA_T,
                         r(s["zenith"]), r(s["elevation"]), r(s["apparent_zenith"]),
                         r(s["apparent_elevation"]), r(s["azimuth"]), r(s["equation_of_time"])])
    write("sun_positions.csv", ["utc", "lat_deg", "lon_deg", "alt_m", "pressure_hpa", "temp_c", "delta_t_s",
                                "zenith_deg", "elevation_deg", "apparent_zenith_deg",
                                "apparent_elevation_deg", "azimuth_deg", "equation_of_time_min"], rows)


def make_rise_set():
    rows = []
    for lat in (35.0, 43.0, 51.0, 58.0):
        for m in range(1, 13):
            d = pd.DatetimeIndex([f"2027-{m:02d}-21"]).tz_localize("UTC")
            x = solarposition.sun_rise_set_transit_spa(d, lat, 15.0, delta_t=DELTA_T).iloc[0]
            rows.append([f"2027-{m:02d}-21", lat, 15.0] + [x[k].strftime("%H:%M:%S") for k in ("sunrise", "transit", "sunset")])
    write("sun_rise_set.csv", ["date_utc", "lat_deg", "lon_deg", "sunrise_utc", "transit_utc", "sunset_utc"], rows)


# ------------------------------------------------------- 2. clear-sky light
def make_coefficients():
    c = _SPECTRL2_COEFFS[:NB]
    rows = [[int(x["wavelength"]), x["spectral_irradiance_et"], x["water_vapor_absorption"],
             x["ozone_absorption"], x["mixed_absorption"]] for x in c]
    write("spectrl2_coefficients_300_450.csv",
          ["wavelength_nm", "et_w_m2_nm", "water_vapor", "ozone_per_cm", "mixed_gas"], rows)


def make_atmosphere():
    rows = [["pressure_hpa", alt, "", r(atmosphere.alt2pres(alt) / 100, 5)] for alt in (0, 50, 100, 300, 500, 1000, 1600, 2000, 3000)]
    rows += [["airmass_kastenyoung1989", z, "", r(airmass(z), 8)] for z in (0, 20, 40, 50, 60, 70, 75, 80, 85, 88, 89.5)]
    for doy in (1, 4, 80, 172, 186, 264, 355, 365):
        rows.append(["distance_factor_spencer", doy, "", r(irradiance.get_extra_radiation(doy, method="spencer", solar_constant=1.0), 8)])
    for z in (0, 30, 50, 60, 70, 80, 85, 89):
        # a float: pvlib would cut the answer for a whole-number series to whole watts
        s = pd.Series([float(z)], index=pd.DatetimeIndex(["2027-06-21T12:00Z"]))
        rows.append(["haurwitz_ghi_w_m2", z, "", r(clearsky.haurwitz(s)["ghi"].iloc[0], 5)])
    write("atmosphere.csv", ["quantity", "x", "note", "value"], rows)


def make_ozone():
    rows = [[36, -122, 185, r(van_heuklon_du(36, -122, 185), 4), "published implementation states 321.2"]]
    for lat in (-34.0, 0.0, 35.0, 43.0, 51.0, 58.0, 65.0):
        for lon in (-75.0, 0.0, 15.0, 172.6):
            for doy in (15, 105, 196, 288):
                rows.append([lat, lon, doy, r(van_heuklon_du(lat, lon, doy), 4), ""])
    write("ozone_van_heuklon.csv", ["lat_deg", "lon_deg", "day_of_year", "ozone_du", "note"], rows)


def spectral_cases():
    rng = np.random.default_rng(36)
    cases = []
    variants = [  # alt, ozone, aod, albedo, doy, tilt, azimuth difference
        (0, 300, .15, .05, 172, 0, 0), (0, 300, .15, .05, 355, 0, 0), (0, 420, .15, .05, 105, 0, 0),
        (0, 260, .15, .05, 288, 0, 0), (1600, 330, .08, .05, 196, 0, 0), (300, 340, .40, .15, 196, 0, 0),
        (100, 350, .05, .70, 30, 0, 0), (100, 350, .15, .05, 80, 30, 0), (100, 350, .15, .20, 80, 60, 0),
        (100, 350, .15, .05, 264, 45, 60), (2800, 260, .05, .05, 15, 0, 0), (50, 310, .25, .05, 240, 20, 120)]
    for el in (3, 8, 15, 22, 30, 40, 50, 60, 75):
        for v in variants:
            cases.append((el,) + v)
    return cases


def make_spectra():
    head = ["case", "apparent_elevation_deg", "alt_m", "pressure_pa", "airmass", "ozone_du", "aod500", "albedo",
            "day_of_year", "tilt_deg", "sun_minus_frame_azimuth_deg", "aoi_deg",
            "uva_320_400_horizontal", "all_300_450_horizontal", "uva_320_400_plane", "all_300_450_plane"]
    head += [f"eff_{k}_horizontal" for k in SPECTRA] + [f"eff_{k}_plane" for k in SPECTRA]
    head += ["eff_reco_beam_horizontal", "eff_reco_diffuse_horizontal", "eff_reco_beam_plane", "eff_reco_skydiffuse_plane"]
    rows, long = [], []
    ones = np.ones(NB)
    for i, (el, alt, o3, aod, alb, doy, tilt, daz) in enumerate(spectral_cases(), 1):
        z = 90.0 - el
        p = float(atmosphere.alt2pres(alt))
        aoi = float(irradiance.aoi(tilt, 0.0, z, float(daz)))
        s = spectrum(z, doy, o3, p, aod, tilt, aoi, alb)
        hor = s["dni"] * np.cos(np.radians(z)) + s["dhi"]
        pl = s["poa_global"]
        row = [i, el, alt, r(p, 4), r(airmass(z), 8), o3, aod, alb, doy, tilt, daz, r(aoi, 8)]
        row += [g(band(v, w)[0]) for v in (hor, pl) for w in (SPECTRA["uva_flat"], ones)]
        row += [g(band(hor, w)[0]) for w in SPECTRA.values()] + [g(band(pl, w)[0]) for w in SPECTRA.values()]
        w = SPECTRA["reco"]
        row += [g(band(v, w)[0]) for v in (s["dni"] * np.cos(np.radians(z)), s["dhi"], s["poa_direct"], s["poa_sky_diffuse"])]
        rows.append(row)
        for k in range(NB):
            long.append([i, int(WL[k])] + [g(s[c][k, 0]) for c in
                        ("dni_extra", "dni", "dhi", "poa_direct", "poa_sky_diffuse", "poa_ground_diffuse", "poa_global")])
    write("spectral_cases.csv", head, rows)
    write("spectral_values.csv", ["case", "wavelength_nm", "dni_extra", "dni", "dhi", "poa_direct",
                                  "poa_sky_diffuse", "poa_ground_diffuse", "poa_global"], long)


def make_action():
    rows = [[int(WL[k])] + [r(SPECTRA[n][k], 8) for n in SPECTRA] for k in range(NB)]
    write("action_spectra.csv", ["wavelength_nm"] + list(SPECTRA), rows)


# ------------------------------------------------------------ 3. exposures
def day_grid(date, lat, lon, alt, step_min=1, tz_hours=None, ozone=None, **kw):
    """1-minute grid over the local mean solar day; returns DataFrame."""
    start = pd.Timestamp(date, tz="UTC") - pd.Timedelta(seconds=round(lon * 240))
    start = start.floor("min")
    t = pd.date_range(start, periods=1440 // step_min + 1, freq=f"{step_min}min")
    sp = sun(t, lat, lon, alt)
    doy = pd.Timestamp(date).day_of_year
    oz = van_heuklon_du(lat, lon, doy) if ozone is None else ozone
    z = sp["apparent_zenith"].to_numpy()
    up = z < 89.0
    df = pd.DataFrame({"z": z, "el": 90 - z, "az": sp["azimuth"].to_numpy()}, index=t)
    for n in SPECTRA:
        df[n] = 0.0
    df["bh"] = 0.0
    df["dh"] = 0.0
    if up.any():
        s = spectrum(z[up], doy, oz, float(atmosphere.alt2pres(alt)), **kw)
        bh = s["dni"] * np.cos(np.radians(z[up]))
        for n, w in SPECTRA.items():
            df.loc[up, n] = band(bh + s["dhi"], w)
        df.loc[up, "bh"] = band(bh, SPECTRA["reco"])
        df.loc[up, "dh"] = band(s["dhi"], SPECTRA["reco"])
    return df


def cumulative(e, step_s):
    """Dose in J/m2 from a series of irradiances, trapezoid."""
    e = np.asarray(e, float)
    return np.concatenate([[0.0], np.cumsum((e[1:] + e[:-1]) / 2.0 * step_s)])


def minutes_to_dose(cum, i0, dose, step_min, last):
    """Minutes from grid index i0 until dose is collected, or nan if not before index last."""
    target = cum[i0] + dose
    if cum[last] < target:
        return np.nan
    j = int(np.searchsorted(cum, target))
    j = max(j, i0 + 1)
    frac = (target - cum[j - 1]) / (cum[j] - cum[j - 1])
    return (j - 1 + frac - i0) * step_min


MIN_EL = 5.0    # light below this apparent elevation is not counted on


def usable(df):
    ok = np.where(df["el"].to_numpy() >= MIN_EL)[0]
    return (None, None) if ok.size == 0 else (int(ok[0]), int(ok[-1]))


LATS = (35.0, 43.0, 51.0, 58.0)
LON, ALT = 15.0, 100.0
SKIES = {"clear": 1.0, "half_cloud_50pct": cmf_from_total(0.5),
         "overcast_high_thin": cmf_from_layers(0, 0, 1), "overcast_full": cmf_from_total(1.0)}


def reference_dose():
    """Dose collected in 8 minutes centred on solar noon, 51 N, 21 June 2027, clear."""
    df = day_grid("2027-06-21", 51.0, LON, ALT)
    out = {}
    for n in SPECTRA:
        c = cumulative(df[n], 60.0)
        i = int(np.argmax(df["el"].to_numpy()))
        out[n] = c[i + 4] - c[i - 4]
    return out


def make_exposure(doses):
    rows, win = [], []
    d0 = doses["reco"]
    for lat in LATS:
        for m in range(1, 13):
            date = f"2027-{m:02d}-21"
            df = day_grid(date, lat, LON, ALT)
            a, b = usable(df)
            for sky, cmf in SKIES.items():
                if a is None:
                    continue
                c = cumulative(df["reco"] * cmf, 60.0)
                for hour in range(5, 20):
                    i0 = int((pd.Timestamp(f"{date}T{hour:02d}:00", tz="UTC") - pd.Timedelta(hours=1) - df.index[0]).total_seconds() // 60)
                    mins = minutes_to_dose(c, i0, d0, 1, b) if a <= i0 <= b else np.nan
                    rows.append([lat, date, sky, r(cmf, 6), f"{hour:02d}:00", r(df["el"].iloc[i0], 3),
                                 g(df["reco"].iloc[i0] * cmf, 7), r(mins, 2)])
                all_min = np.array([minutes_to_dose(c, i, d0, 1, b) if a <= i <= b else np.nan for i in range(len(df))])
                for limit in (20, 60):
                    ok = np.nan_to_num(all_min, nan=1e9) <= limit
                    if ok.any():
                        idx = np.where(ok)[0]
                        t0 = df.index[idx[0]] + pd.Timedelta(hours=1)
                        t1 = df.index[idx[-1]] + pd.Timedelta(hours=1)
                        win.append([lat, date, sky, limit, t0.strftime("%H:%M"), t1.strftime("%H:%M"),
                                    int(idx[-1] - idx[0]), r(np.nanmin(all_min), 2)])
                    else:
                        win.append([lat, date, sky, limit, "", "", 0, r(np.nanmin(all_min), 2) if np.isfinite(all_min).any() else ""])
    write("exposure_minutes.csv", ["lat_deg", "date", "sky", "cmf", "start_local_utc+1", "apparent_elevation_deg",
                                   "eff_irradiance_w_m2", "minutes"], rows)
    write("exposure_windows.csv", ["lat_deg", "date", "sky", "max_minutes", "first_start_utc+1", "last_start_utc+1",
                                   "window_minutes", "shortest_exposure_min"], win)


VAR_DATE, VAR_LAT = "2027-04-21", 51.0
VAR_CMF = {6: 1.0, 7: 1.0, 8: .9, 9: .5, 10: .31, 11: .31, 12: .6, 13: .95, 14: 1.0, 15: .4, 16: .3, 17: .8, 18: 1.0}


def make_variable(doses):
    """Hourly cloud factors, constant within [h, h+1) local time; outside the table the factor is 1.

    Dose of one step = factor at the middle of the step x trapezoid of the clear-sky irradiance.
    """
    df = day_grid(VAR_DATE, VAR_LAT, LON, ALT)
    loc = df.index + pd.Timedelta(hours=1)
    f = np.array([VAR_CMF.get(t.hour, 1.0) if str(t.date()) == VAR_DATE else 1.0 for t in loc])
    clear = df["reco"].to_numpy()
    e = clear * f
    c = np.concatenate([[0.0], np.cumsum(np.diff(cumulative(clear, 60.0)) * f[:-1])])
    a, b = usable(df)
    mins = np.array([minutes_to_dose(c, i, doses["reco"], 1, b) if a <= i <= b else np.nan for i in range(len(df))])
    rows = [[loc[i].strftime("%H:%M"), r(f[i], 4), g(e[i], 8), r(mins[i], 3)] for i in range(a, b + 1, 10)]
    write("exposure_hourly_cloud.csv", ["start_local_utc+1", "cmf", "eff_irradiance_w_m2", "minutes"], rows)
    out = []
    for limit in (12, 15, 20, 30):
        ok = np.nan_to_num(mins, nan=1e9) <= limit
        i = 0
        while i < len(ok):
            if ok[i]:
                j = i
                while j + 1 < len(ok) and ok[j + 1]:
                    j += 1
                out.append([limit, loc[i].strftime("%H:%M"), loc[j].strftime("%H:%M")])
                i = j
            i += 1
    write("exposure_hourly_cloud_windows.csv", ["max_minutes", "first_start_utc+1", "last_start_utc+1"], out)


def make_hourly_ghi():
    """Forecast GHI is a mean over the preceding hour: the clear-sky value must be averaged alike."""
    rows = []
    fc = {8: 120.0, 9: 310.0, 10: 500.0, 11: 300.0, 12: 700.0, 13: 740.0, 14: 160.0, 15: 410.0}
    for h, v in fc.items():       # h = UTC hour at which the averaging interval ends
        t = pd.DatetimeIndex([pd.Timestamp(f"{VAR_DATE}T{h - 1:02d}:{m:02d}", tz="UTC") for m in range(5, 60, 10)])
        z = sun(t, VAR_LAT, LON, ALT)["apparent_zenith"]
        gc = float(clearsky.haurwitz(z)["ghi"].mean())
        rows.append([f"{VAR_DATE}T{h:02d}:00Z", v, r(gc, 4), r(v / gc, 6), r(cmf_from_ghi(v, gc), 6)])
    write("ghi_hourly.csv", ["interval_end_utc", "forecast_ghi_w_m2", "clear_ghi_w_m2", "clear_index", "uv_cmf"], rows)


def make_sensitivity(doses):
    """Minutes per action spectrum, each calibrated to 8 min at 51 N June noon."""
    rows = []
    for lat in LATS:
        for date in ("2027-06-21", "2027-03-21", "2027-12-21"):
            df = day_grid(date, lat, LON, ALT)
            a, b = usable(df)
            noon = int(np.argmax(df["el"].to_numpy()))
            for label, off in (("solar_noon", 0), ("noon_minus_2h", -120), ("noon_minus_4h", -240), ("noon_plus_4h", 240)):
                i0 = noon + off
                row = [lat, date, label, r(df["el"].iloc[i0], 3)]
                for n in SPECTRA:
                    c = cumulative(df[n], 60.0)
                    row.append(r(minutes_to_dose(c, i0, doses[n], 1, b), 2) if a is not None and a <= i0 <= b else "")
                rows.append(row)
    write("action_sensitivity.csv", ["lat_deg", "date", "start", "apparent_elevation_deg"] + [f"minutes_{n}" for n in SPECTRA], rows)


# --------------------------------------------------------------- 4. clouds
def make_clouds():
    rows = []
    for n in (0, .1, .25, .375, .5, .625, .75, .875, .95, 1):
        rows.append(["total", n, "", "", "", r(1 - .75 * n ** 3.4, 8), r(cmf_from_total(n), 8)])
    for lo, mi, hi in ((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1), (.5, 0, 0), (0, .5, 0), (0, 0, .5), (.5, .5, .5),
                       (.2, .4, .9), (1, 1, 1), (.9, .3, 0), (.3, 0, 1)):
        rows.append(["layers_low_mid_high", lo, mi, hi, "", "", r(cmf_from_layers(lo, mi, hi), 8)])
    for lo, mi, hi, tot in ((.2, .4, .9, .95), (.3, .3, .3, .5), (.6, .2, 0, .6)):
        rows.append(["layers_with_total", lo, mi, hi, tot, "", r(cmf_from_layers(lo, mi, hi, tot), 8)])
    for gh, gc in ((800, 800), (900, 800), (600, 800), (400, 800), (240, 800), (120, 800), (40, 200)):
        rows.append(["ghi_over_clear", gh, gc, "", "", r(gh / gc, 8), r(cmf_from_ghi(gh, gc), 8)])
    for a, b in ((6.5, 6.6), (3.3, 6.6), (1.2, 6.0), (0.4, 2.0)):
        rows.append(["uvi_over_clear", a, b, "", "", r(a / b, 8), r(cmf_from_uvi(a, b), 8)])
    write("cloud_cmf.csv", ["method", "a", "b", "c", "d", "global_factor", "uv_cmf"], rows)
    rows = []
    for el, tilt, cmf, tb in ((15, 0, 1, 1), (15, 45, 1, 1), (15, 45, .6, .3), (15, 45, .3, 0), (45, 30, .8, .6), (45, 30, .31, 0), (60, 20, 1.05, 1)):
        z = 90.0 - el
        aoi = float(irradiance.aoi(tilt, 0.0, z, 0.0))
        s = spectrum(z, 80, 350, float(atmosphere.alt2pres(100)), None, tilt, aoi)
        w = SPECTRA["reco"]
        bh, dh = band(s["dni"] * np.cos(np.radians(z)), w)[0], band(s["dhi"], w)[0]
        bt, dt = band(s["poa_direct"], w)[0], band(s["poa_sky_diffuse"], w)[0]
        e = cloudy_plane(cmf, tb, bh, dh, bt, dt, tilt, DEFAULTS["albedo"])
        rows.append([el, tilt, cmf, tb, g(bh), g(dh), g(bt), g(dt), g(e)])
    write("cloud_tilted.csv", ["apparent_elevation_deg", "tilt_deg", "cmf", "beam_transmission", "beam_h", "diffuse_h",
                               "beam_plane", "skydiffuse_plane", "eff_plane"], rows)


# ------------------------------------------------------ 5. dose posterior
def posterior(obs, prior_median, prior_sd=np.log(2.0), delta=np.log(1.25), n=801, span=4.0):
    """obs: list of (dose, sigma, verdict).  Grid posterior of ln(required dose)."""
    x = np.log(prior_median) + prior_sd * np.linspace(-span, span, n)
    lp = norm.logpdf(x, np.log(prior_median), prior_sd)
    for dose, sigma, verdict in obs:
        u = np.log(dose)
        pale = norm.cdf((x - delta - u) / sigma)
        deep = norm.cdf((u - x - delta) / sigma)
        p = {"pale": pale, "deep": deep, "good": np.maximum(1 - pale - deep, 0.0)}[verdict]
        lp = lp + np.log(np.maximum(0.02 / 3 + 0.98 * p, 1e-300))
    w = np.exp(lp - lp.max())
    w /= w.sum()
    cdf = np.cumsum(w) - w / 2.0          # value at the node itself
    q = lambda f: float(np.exp(np.interp(f, cdf, x)))
    mean = float((w * x).sum())
    return dict(median=q(.5), q05=q(.05), q95=q(.95), mean_ln=mean, sd_ln=float(np.sqrt((w * (x - mean) ** 2).sum())))


LOG = [("a", 12.0, 0.15, "pale"), ("b", 17.0, 0.15, "pale"), ("c", 24.0, 0.15, "good"),
       ("d", 21.0, 0.35, "good"), ("e", 34.0, 0.15, "deep"), ("f", 18.0, 0.35, "deep")]


def make_posterior():
    rows = []
    for k in range(len(LOG) + 1):
        p = posterior([(d, s, v) for _, d, s, v in LOG[:k]], prior_median=20.0)
        o = LOG[k - 1] if k else ("prior", "", "", "")
        rows.append([k, o[0], o[1], o[2], o[3], r(p["median"], 4), r(p["q05"], 4), r(p["q95"], 4), r(p["mean_ln"], 6), r(p["sd_ln"], 6)])
    write("dose_posterior.csv", ["after_n", "entry", "dose_kj_m2", "sigma_ln", "verdict", "median_kj_m2", "q05_kj_m2",
                                 "q95_kj_m2", "mean_ln", "sd_ln"], rows)


# ------------------------------------------------------------------ 6. UVI
def make_uvi():
    rows = []
    for lat in LATS:
        for m in range(1, 13):
            date = f"2027-{m:02d}-21"
            t = pd.date_range(f"{date}T10:30Z", periods=61, freq="1min")
            el = sun(t, lat, LON, ALT)["apparent_elevation"].max()
            oz = van_heuklon_du(lat, LON, pd.Timestamp(date).day_of_year)
            mu = np.sin(np.radians(max(el, 0)))
            rows.append([lat, date, r(el, 3), r(oz, 2), r(12.5 * mu ** 2.42 * (oz / 300) ** -1.23, 3)])
    write("uv_index_noon.csv", ["lat_deg", "date", "noon_elevation_deg", "ozone_du", "uvi_clear"], rows)


def main():
    OUT.mkdir(parents=True, exist_ok=True)
    make_spa_example()
    make_sun_positions()
    make_rise_set()
    make_coefficients()
    make_atmosphere()
    make_ozone()
    make_action()
    make_spectra()
    make_clouds()
    doses = reference_dose()
    write("reference_dose.csv", ["action_spectrum", "dose_8min_june_noon_51N_j_m2"], [[k, r(v, 4)] for k, v in doses.items()])
    make_exposure(doses)
    make_variable(doses)
    make_hourly_ghi()
    make_sensitivity(doses)
    make_posterior()
    make_uvi()
    print("pvlib", pvlib.__version__)


if __name__ == "__main__":
    main()
