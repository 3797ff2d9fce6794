//! Closed forms of the air, and spectra band by band.

use fairday::light::Sensitivity;
use fairday::light::atmosphere::{
    air_mass, clear_global_w_m2, distance_factor, pressure_pa, usual_ozone_du,
};
use fairday::light::bands::{BAND_COUNT, EXTRATERRESTRIAL, OZONE_PER_CM, WAVELENGTH_NM};
use fairday::light::spectrum::{Air, BandLight, Facing, clear_bands, printing_light};

use super::{Row, Table, Worst, relative};

#[test]
fn the_tables_are_the_published_ones() {
    let rows = Table::read("spectrl2_coefficients_300_450.csv", BAND_COUNT);
    for (band, row) in rows.rows().enumerate() {
        assert_eq!(WAVELENGTH_NM[band], row.number("wavelength_nm"));
        assert_eq!(EXTRATERRESTRIAL[band], row.number("et_w_m2_nm"));
        assert_eq!(OZONE_PER_CM[band], row.number("ozone_per_cm"));
        // Why the model leaves them out.
        assert_eq!(row.number("water_vapor") + row.number("mixed_gas"), 0.0);
    }
    let weights = Table::read("action_spectra.csv", BAND_COUNT);
    for (band, row) in weights.rows().enumerate() {
        assert_eq!(Sensitivity::COATED_SHEET.0[band], row.number("reco"));
    }
}

/// 1e-6 of the value, or half of the last printed digit where that is more.
#[test]
fn closed_forms_of_the_air_agree() {
    for row in Table::read("atmosphere.csv", 36).rows() {
        let x = row.number("x");
        let found = match row.text("quantity") {
            "pressure_hpa" => pressure_pa(x) / 100.0,
            "airmass_kastenyoung1989" => air_mass(x),
            "distance_factor_spencer" => distance_factor(x as u32),
            "haurwitz_ghi_w_m2" => clear_global_w_m2(x),
            other => panic!("{other}"),
        };
        let off = (found - row.number("value")).abs();
        let allowed = (1e-6 * found).max(0.5 * last_digit(row.text("value")));
        assert!(off <= allowed * 1.001, "{row}: {found}");
    }
}

#[test]
fn usual_ozone_agrees() {
    let table = Table::read("ozone_van_heuklon.csv", 113);
    for row in table.rows() {
        let day = row.number("day_of_year") as u32;
        let found = usual_ozone_du(row.number("lat_deg"), row.number("lon_deg"), day);
        let off = (found - row.number("ozone_du")).abs();
        assert!(off < 0.000_06, "{row}: {found}");
    }
    // Printed in a public implementation of the same formula: 321.2 DU.
    assert!((usual_ozone_du(36.0, -122.0, 185) - 321.2).abs() < 0.05);
}

fn last_digit(text: &str) -> f64 {
    let decimals = text.split_once('.').map_or(0, |(_, tail)| tail.len());
    10f64.powi(-(decimals as i32))
}

fn air_of(row: Row) -> Air {
    Air {
        pressure_pa: row.number("pressure_pa"),
        ozone_du: row.number("ozone_du"),
        aerosol: row.number("aod500"),
        albedo: row.number("albedo"),
        day_of_year: row.number("day_of_year") as u32,
    }
}

fn facing_of(row: Row) -> Facing {
    Facing {
        tilt_deg: row.number("tilt_deg"),
        incidence_deg: row.number("aoi_deg"),
    }
}

fn zenith_of(row: Row) -> f64 {
    90.0 - row.number("apparent_elevation_deg")
}

/// Ten printed digits of the table, but pressure and incidence are inputs with four and
/// eight decimals: 1e-6 relative. Light below 1e-12 W/m²/nm is nothing.
#[test]
fn every_band_and_component_agrees() {
    let cases = Table::read("spectral_cases.csv", 108);
    let cases: Vec<Row> = cases.rows().collect();
    let values = Table::read("spectral_values.csv", 108 * BAND_COUNT);
    let mut worst = Worst::default();
    for (index, row) in values.rows().enumerate() {
        let case = cases[index / BAND_COUNT];
        assert_eq!(row.number("case"), case.number("case"));
        let bands = clear_bands(zenith_of(case), facing_of(case), &air_of(case));
        let band = bands[index % BAND_COUNT];
        for (column, found) in components(&band) {
            let expected = row.number(column);
            if expected.abs().max(found.abs()) > 1e-12 {
                worst.see(relative(found, expected), format!("{row} {column} {found}"));
            }
        }
    }
    worst.within(1e-6, "spectral components, relative");
}

fn components(band: &BandLight) -> [(&'static str, f64); 7] {
    let frame = band.beam_frame + band.sky_frame + band.ground_frame;
    [
        ("dni_extra", band.outside),
        ("dni", band.beam),
        ("dhi", band.sky_horizontal),
        ("poa_direct", band.beam_frame),
        ("poa_sky_diffuse", band.sky_frame),
        ("poa_ground_diffuse", band.ground_frame),
        ("poa_global", frame),
    ]
}

/// As the bands: 1e-6 relative.
#[test]
fn weighted_integrals_agree() {
    let spectra = Table::read("action_spectra.csv", BAND_COUNT);
    let mut worst = Worst::default();
    for row in Table::read("spectral_cases.csv", 108).rows() {
        let light = |weights: &Sensitivity| {
            printing_light(zenith_of(row), facing_of(row), &air_of(row), weights)
        };
        for name in ["reco", "uva_flat", "peak365", "flat450", "short_uv"] {
            let found = light(&sensitivity(&spectra, name));
            for (plane, found) in [("horizontal", found.horizontal()), ("plane", found.frame())] {
                let expected = row.number(&format!("eff_{name}_{plane}"));
                worst.see(relative(found, expected), format!("{row} {name} {plane}"));
            }
        }
        let reco = light(&Sensitivity::COATED_SHEET);
        for (column, found) in [
            ("eff_reco_beam_horizontal", reco.beam_horizontal),
            ("eff_reco_diffuse_horizontal", reco.sky_horizontal),
            ("eff_reco_beam_plane", reco.beam_frame),
            ("eff_reco_skydiffuse_plane", reco.sky_frame),
        ] {
            worst.see(
                relative(found, row.number(column)),
                format!("{row} {column}"),
            );
        }
        let all = light(&Sensitivity([1.0; BAND_COUNT]));
        for (column, found) in [
            ("all_300_450_horizontal", all.horizontal()),
            ("all_300_450_plane", all.frame()),
        ] {
            worst.see(
                relative(found, row.number(column)),
                format!("{row} {column}"),
            );
        }
    }
    worst.within(1e-6, "weighted integrals, relative");
}

/// One column of `action_spectra.csv`; its eight decimals are enough.
pub fn sensitivity(table: &Table, name: &str) -> Sensitivity {
    let column: Vec<f64> = table.rows().map(|row| row.number(name)).collect();
    Sensitivity(column.try_into().expect("21 rows"))
}
