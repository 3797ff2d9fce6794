//! Addresses in files, of mail and of post: values that both orders and studio hold.

use super::reader::Reader;
use super::trail::Trail;

/// Returns an address with its domain as name servers know it; one that is no address
/// stays as it is.
///
/// # Sources
/// RFC 5891; a domain means the same in either form, what stands before the `@` does not.
///
/// # Example
/// ```
/// use fairday::yaml::address::in_ascii;
/// assert_eq!(in_ascii("zoë@bücher.example"), "zoë@xn--bcher-kva.example");
/// assert_eq!(in_ascii("ada@example.org"), "ada@example.org");
/// ```
pub fn in_ascii(address: &str) -> String {
    let parts = address.rsplit_once('@').filter(|_| !address.is_ascii());
    let ascii = parts.and_then(|(local, domain)| {
        let domain = idna::domain_to_ascii(domain).ok()?;
        Some(format!("{local}@{domain}"))
    });
    ascii.unwrap_or_else(|| address.to_owned())
}

/// Notes if `address` is no mail address with a full domain.
pub fn mail_address(address: &str, at: &Trail, reader: &mut Reader) {
    let domain = address.rsplit_once('@').map_or("", |(_, domain)| domain);
    if address.parse::<lettre::Address>().is_err() || !domain.contains('.') {
        let problem = reader
            .error(format!("`{address}` is no mail address"))
            .hint("write it like `ada@example.org`, or remove the key");
        reader.at_value(at, problem);
    }
}

/// Cuts a postal address into its lines; on a single line commas part them.
pub fn postal_lines(text: &str) -> Vec<String> {
    let parts: Vec<&str> = match text.lines().count() {
        ..=1 => text.split(',').collect(),
        _ => text.lines().collect(),
    };
    let lines = parts.into_iter().map(str::trim);
    let lines = lines.filter(|line| !line.is_empty());
    lines.map(str::to_owned).collect()
}
