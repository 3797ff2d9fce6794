//! Mail addresses in files: the one value that both orders and studio hold.

use super::reader::Reader;
use super::trail::Trail;

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
