//! What a service is asked, and in whose name.

use chrono::{DateTime, Days, Utc};

use crate::studio::{Fetch, Place, Service};

/// Columns that are asked of Open-Meteo.
const OPEN_METEO_HOURLY: &str = "temperature_2m,relative_humidity_2m,dew_point_2m,cloud_cover,\
    cloud_cover_low,cloud_cover_mid,cloud_cover_high,precipitation,precipitation_probability,\
    wind_speed_10m,wind_gusts_10m,shortwave_radiation,uv_index,uv_index_clear_sky";

/// The most days that Open-Meteo gives. [d]
const OPEN_METEO_DAYS: u32 = 16;

/// Days that are asked of Bright Sky; its forecast ends earlier. [d]
const BRIGHT_SKY_DAYS: u64 = 10;

/// A question to a weather service.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request {
    /// The address, without any key.
    pub url: String,
    /// In whose name it is asked.
    pub agent: String,
}

impl Request {
    /// Makes the question for a place.
    ///
    /// # Example
    /// ```
    /// use fairday::forecast::fetch::Request;
    /// use fairday::studio::{Fetch, Place, Service};
    /// let fetch = Fetch {
    ///     service: Service::MetNorway,
    ///     contact: "ada@blueprints.example".to_owned(),
    ///     host: "https://api.met.no".to_owned(),
    ///     decimals: 2,
    ///     timeout_seconds: 30.0,
    /// };
    /// let zone = chrono_tz::Europe::London;
    /// let place = Place { latitude_deg: 53.9049, longitude_deg: -0.001, altitude_m: 14.6, zone };
    /// let request = Request::new(&fetch, &place, "2026-05-11T06:00:00Z".parse().unwrap());
    /// assert_eq!(
    ///     request.url,
    ///     "https://api.met.no/weatherapi/locationforecast/2.0/complete\
    ///      ?lat=53.90&lon=0.00&altitude=15"
    /// );
    /// assert!(request.agent.ends_with(" ada@blueprints.example"));
    /// ```
    pub fn new(fetch: &Fetch, place: &Place, now: DateTime<Utc>) -> Request {
        let host = &fetch.host;
        let (latitude, longitude) = (
            rounded(place.latitude_deg, fetch.decimals),
            rounded(place.longitude_deg, fetch.decimals),
        );
        let altitude = rounded(place.altitude_m, 0);
        let url = match &fetch.service {
            Service::MetNorway => format!(
                "{host}/weatherapi/locationforecast/2.0/complete\
                 ?lat={latitude}&lon={longitude}&altitude={altitude}"
            ),
            Service::OpenMeteo(_) => format!(
                "{host}/v1/forecast?latitude={latitude}&longitude={longitude}\
                 &elevation={altitude}&hourly={OPEN_METEO_HOURLY}&wind_speed_unit=ms\
                 &timezone=GMT&forecast_days={OPEN_METEO_DAYS}"
            ),
            Service::BrightSky => {
                let first = now.date_naive();
                let last = first + Days::new(BRIGHT_SKY_DAYS);
                format!(
                    "{host}/weather?lat={latitude}&lon={longitude}&date={first}&last_date={last}"
                )
            }
        };
        Request {
            url,
            agent: user_agent(&fetch.contact),
        }
    }

    /// Returns the address with the user's key, for the service's eyes alone.
    pub fn url_with_key(&self, key: Option<&str>) -> String {
        match key {
            Some(key) => format!("{}&apikey={}", self.url, escaped(key)),
            None => self.url.clone(),
        }
    }
}

/// Returns in whose name a service is asked: the program, its version, the contact.
pub fn user_agent(contact: &str) -> String {
    format!("fairday/{} {contact}", env!("CARGO_PKG_VERSION"))
}

/// Writes a coordinate with so many decimals, and zero without a sign.
fn rounded(value: f64, decimals: u32) -> String {
    let text = format!("{value:.*}", decimals as usize);
    let is_zero = !text.contains(|c: char| c.is_ascii_digit() && c != '0');
    match text.strip_prefix('-').filter(|_| is_zero) {
        Some(unsigned) => unsigned.to_owned(),
        None => text,
    }
}

/// Escapes what may not stand in a query (RFC 3986, unreserved characters stay).
fn escaped(text: &str) -> String {
    let stays = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    let letter = |byte: u8| match stays(byte) {
        true => char::from(byte).to_string(),
        false => format!("%{byte:02X}"),
    };
    text.bytes().map(letter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::OpenMeteoUse;

    fn request(service: Service, decimals: u32) -> Request {
        let fetch = Fetch {
            service,
            contact: "https://blueprints.example/contact".to_owned(),
            host: "http://127.0.0.1:9".to_owned(),
            decimals,
            timeout_seconds: 30.0,
        };
        let place = Place {
            latitude_deg: -53.987_654_321,
            longitude_deg: 2.900_04,
            altitude_m: -2.0,
            zone: chrono_tz::Europe::London,
        };
        Request::new(&fetch, &place, "2026-12-28T23:30:00Z".parse().unwrap())
    }

    #[test]
    fn a_coordinate_never_has_more_decimals_than_the_studio_gives() {
        let url = request(Service::MetNorway, 4).url;
        assert!(
            url.ends_with("?lat=-53.9877&lon=2.9000&altitude=-2"),
            "{url}"
        );
        let url = request(Service::MetNorway, 0).url;
        assert!(url.ends_with("?lat=-54&lon=3&altitude=-2"), "{url}");
    }

    #[test]
    fn a_key_is_added_last_and_escaped() {
        let request = request(
            Service::OpenMeteo(OpenMeteoUse::Key("OPEN_METEO_KEY".to_owned())),
            2,
        );
        assert!(!request.url.contains("apikey"));
        let url = request.url_with_key(Some("a b&c"));
        assert!(url.ends_with("&forecast_days=16&apikey=a%20b%26c"), "{url}");
        assert!(url.contains("&hourly=temperature_2m,"), "{url}");
        assert!(!url.contains(' '), "{url}");
    }

    #[test]
    fn bright_sky_is_asked_for_days_from_today_on() {
        let url = request(Service::BrightSky, 2).url;
        assert!(
            url.ends_with("&date=2026-12-28&last_date=2027-01-07"),
            "{url}"
        );
    }
}
