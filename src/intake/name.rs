//! Numbers and file names of new orders, in the manner of those there are.

/// Fewest digits of the count in a number.
const DIGITS: usize = 3;

/// Returns the number after the last one of `year` among those in use.
///
/// # Example
/// ```
/// use fairday::intake::name::next_number;
/// assert_eq!(next_number(&["2026-009", "2026-030", "shop-7"], 2026), "2026-031");
/// assert_eq!(next_number(&["2026-030"], 2027), "2027-001");
/// ```
pub fn next_number(used: &[&str], year: i32) -> String {
    let begin = format!("{year}-");
    let counts = used.iter().filter_map(|number| {
        let count = number.strip_prefix(&begin)?;
        count.parse::<u32>().ok()
    });
    let next = counts.max().unwrap_or(0).saturating_add(1);
    format!("{begin}{next:0DIGITS$}")
}

/// Returns the name of an order's file: its number and the customer's last name.
///
/// # Example
/// ```
/// use fairday::intake::name::file_name;
/// assert_eq!(file_name("2026-031", "Ada van der Lind"), "2026-031-lind.yaml");
/// assert_eq!(file_name("a/b", "../x"), "a-b-x.yaml");
/// assert_eq!(file_name("7", ""), "7.yaml");
/// ```
pub fn file_name(number: &str, customer: &str) -> String {
    let last = customer.split_whitespace().last().unwrap_or_default();
    let parts = [plain(number), plain(&last.to_lowercase())];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    format!("{}.yaml", parts.join("-"))
}

/// Keeps letters, digits and dashes; anything else becomes one dash between them.
fn plain(word: &str) -> String {
    let parts = word.split(|c: char| !c.is_alphanumeric());
    let parts: Vec<&str> = parts.filter(|part| !part.is_empty()).collect();
    parts.join("-")
}
