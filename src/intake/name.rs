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

/// Returns the number that a file which gives no order seems to have: the words after
/// `order:`, else those that its name begins with.
///
/// # Example
/// ```
/// use fairday::intake::name::likely_number;
/// let number = |file, text| likely_number(file, text);
/// assert_eq!(number("a.yaml", "order: '2026-031' # Ada\npieces: [\n").as_deref(), Some("2026-031"));
/// assert_eq!(number("2026-031-brook.yaml", "").as_deref(), Some("2026-031"));
/// assert_eq!(number("a.yaml", ""), None);
/// ```
pub fn likely_number(file: &str, text: &str) -> Option<String> {
    let said = text.lines().find_map(|line| line.strip_prefix("order:"));
    let said = said.and_then(|said| said.split_whitespace().next());
    let said = said.map(|said| said.trim_matches(['"', '\'']).to_owned());
    said.filter(|said| !said.is_empty()).or_else(|| {
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        let mut parts = stem.splitn(3, '-');
        Some(format!("{}-{}", parts.next()?, parts.next()?))
    })
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
