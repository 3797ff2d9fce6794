//! From the text of an order file to the order it means.
//!
//! Everything that can be said about one file alone, or about one file and the
//! studio, is said here in one go; what concerns two files is `outside/orders`.

use chrono::{NaiveDate, NaiveDateTime};

use super::file::{CustomerFile, DispatchFile, NotifiedFile, OrderFile, PromiseFile, known_keys};
use super::{Customer, Delivery, Dispatch, Jurisdiction, Notified, Order, Promise, check, pieces};
use crate::problem::Problem;
use crate::studio::Studio;
use crate::yaml::address::{mail_address, postal_lines};
use crate::yaml::reader::Reader;
use crate::yaml::several::Several;
use crate::yaml::trail::Trail;

/// What an order is checked against.
#[derive(Debug, Clone, Copy, Default)]
pub struct Against<'a> {
    /// The studio, if it could be read: materials, frames, destinations.
    pub studio: Option<&'a Studio>,
    /// The present moment on the studio's clock; without it nothing is "in the future".
    pub now: Option<NaiveDateTime>,
}

/// Parses an order file that the maker knows as `file`.
///
/// Returns no order if the file has an error, so that nothing is planned on a
/// misunderstanding; warnings leave the order in place.
///
/// # Example
/// ```
/// use fairday::order::parse::{Against, parse};
/// let text = "order: 7\ncustmer: {name: Ada}\n";
/// let (order, problems) = parse(text, "seven.yaml", &Against::default());
/// assert!(order.is_none());
/// assert_eq!(problems[0].hint.as_deref(), Some("add `customer: {name: …, email: …}`"));
/// assert_eq!(problems.last().unwrap().what, "unknown key `custmer`");
/// ```
pub fn parse(text: &str, file: &str, against: &Against) -> (Option<Order>, Vec<Problem>) {
    let mut reader = Reader::new(text, file);
    let order = reader
        .read_shape::<OrderFile>(known_keys)
        .and_then(|shape| order(&shape, file, against, &mut reader));
    let order = order.filter(|_| reader.error_count() == 0);
    (order, reader.finish())
}

/// Finds the number of the order in a text, whatever else is wrong with it.
pub fn find_number(text: &str) -> Option<String> {
    let shape: OrderFile = serde_yaml::from_str(text).ok()?;
    shape.order?.parse()
}

/// Finds the number that the order in a text has elsewhere.
pub fn find_reference(text: &str) -> Option<String> {
    let shape: OrderFile = serde_yaml::from_str(text).ok()?;
    shape.reference?.parse()
}

/// Returns the problem of a number that another file has already.
pub fn number_twice(text: &str, file: &str, number: &str, first: &str) -> Problem {
    let mut reader = Reader::new(text, file);
    let problem = reader
        .error(format!("the order number `{number}` is taken by {first}"))
        .hint("give this order a number of its own");
    reader.at_value(&Trail::Root.key("order"), problem);
    reader.finish().remove(0)
}

fn order(shape: &OrderFile, file: &str, against: &Against, reader: &mut Reader) -> Option<Order> {
    let top = Trail::Root;
    let number: Option<String> = reader.need(&shape.order, &top, "order", "2026-014");
    if let Some(number) = &number {
        check::number(number, &top.key("order"), reader);
    }
    let customer = customer(&shape.customer, &top, reader);
    let ordered_on = reader.need(&shape.ordered_on, &top, "ordered_on", "2026-04-28");
    if let Some(day) = ordered_on {
        check::not_in_future(day, against.now, &top.key("ordered_on"), reader);
    }
    let promise = promise(&shape.promise, ordered_on, &top, reader);
    let jurisdiction = reader.need(&shape.jurisdiction, &top, "jurisdiction", "eu");
    let delivery = delivery(shape, against, &top, reader);
    let weight = reader.take_or(&shape.weight, &top, "weight", 1);
    check::within(weight, 1..=100, &top.key("weight"), reader);
    let hold = reader.take(&shape.hold, &top, "hold");
    let cancelled_on = reader.take(&shape.cancelled_on, &top, "cancelled_on");
    let pieces = pieces::pieces(shape, against, reader);
    let notified = notified(shape, &top, reader);
    let dispatch = dispatch(&shape.dispatch, ordered_on, &top, reader);
    let order = Order {
        number: number?,
        file: file.to_owned(),
        customer: customer?,
        ordered_on: ordered_on?,
        promise,
        jurisdiction: jurisdiction.unwrap_or(Jurisdiction::Other),
        delivery: delivery?,
        weight,
        hold,
        pieces,
        notified,
        dispatch,
        cancelled_on,
    };
    check::left_unfinished(&order, &top, reader);
    Some(order)
}

fn customer(shape: &Option<CustomerFile>, top: &Trail, reader: &mut Reader) -> Option<Customer> {
    let Some(shape) = shape else {
        reader.missing(top, "customer", "{name: …, email: …}");
        return None;
    };
    let at = top.key("customer");
    let name = reader.need(&shape.name, &at, "name", "Ada Lindqvist");
    let mut addresses = mail_addresses(&shape.email, &at, reader).into_iter();
    let address: Option<String> = reader.take(&shape.address, &at, "address");
    let language = reader.take_or(&shape.language, &at, "language", "en".to_owned());
    check::language(&language, &at.key("language"), reader);
    Some(Customer {
        name: name?,
        email: addresses.next(),
        copies_to: addresses.collect(),
        address: address.as_deref().map(postal_lines).unwrap_or_default(),
        language,
    })
}

/// Returns the mail addresses: the customer's own, then those for copies, each once.
fn mail_addresses(shape: &Option<Several<String>>, at: &Trail, reader: &mut Reader) -> Vec<String> {
    let place = at.key("email");
    let mut addresses: Vec<String> = match shape {
        None => Vec::new(),
        Some(Several::One(leaf)) => {
            let address = reader.take(&Some(leaf.clone()), at, "email");
            address.into_iter().collect()
        }
        Some(Several::List(leaves)) => reader.list(leaves, at, "email"),
    };
    for (index, address) in addresses.iter().enumerate() {
        match shape {
            Some(Several::List(_)) => mail_address(address, &place.index(index), reader),
            Some(Several::One(_)) | None => mail_address(address, &place, reader),
        }
    }
    let mut known = Vec::new();
    addresses.retain(|address| {
        let small = address.to_lowercase();
        let is_new = !known.contains(&small);
        known.push(small);
        is_new
    });
    addresses
}

fn promise(
    shape: &Option<PromiseFile>,
    ordered_on: Option<NaiveDate>,
    top: &Trail,
    reader: &mut Reader,
) -> Option<Promise> {
    let shape = shape.as_ref()?;
    let at = top.key("promise");
    let kind = reader.need(&shape.kind, &at, "kind", "ship_by");
    let date = reader.need(&shape.date, &at, "date", "2026-05-15");
    let essential = reader.take_or(&shape.essential, &at, "essential", false);
    if let (Some(date), Some(ordered_on)) = (date, ordered_on)
        && date < ordered_on
    {
        let what = format!("the promise `{date}` lies before the day of the order, {ordered_on}");
        let problem = reader
            .error(what)
            .hint("correct `date` below `promise`, or `ordered_on`");
        reader.at_value(&at.key("date"), problem);
    }
    Some(Promise {
        kind: kind?,
        date: date?,
        essential,
    })
}

fn delivery(
    shape: &OrderFile,
    against: &Against,
    top: &Trail,
    reader: &mut Reader,
) -> Option<Delivery> {
    let word = reader.need(&shape.delivery, top, "delivery", "pickup")?;
    if word == "pickup" {
        return Some(Delivery::Pickup);
    }
    if let Some(studio) = against.studio {
        check::destination(&word, studio, &top.key("delivery"), reader);
    }
    Some(Delivery::Carrier { destination: word })
}

fn notified(shape: &OrderFile, top: &Trail, reader: &mut Reader) -> Vec<Notified> {
    let list = top.key("notified");
    let entries = shape.notified.iter().flatten().enumerate();
    entries
        .filter_map(|(index, entry)| notice(entry, &list.index(index), reader))
        .collect()
}

fn notice(entry: &NotifiedFile, at: &Trail, reader: &mut Reader) -> Option<Notified> {
    let on = reader.need(&entry.on, at, "on", "2026-04-28");
    let kind = reader.need(&entry.kind, at, "kind", "taken");
    let date = reader.take(&entry.date, at, "date");
    Some(Notified {
        on: on?,
        kind: kind?.0,
        date: date.and_then(|stated| stated.0),
    })
}

fn dispatch(
    shape: &Option<DispatchFile>,
    ordered_on: Option<NaiveDate>,
    top: &Trail,
    reader: &mut Reader,
) -> Option<Dispatch> {
    let shape = shape.as_ref()?;
    let at = top.key("dispatch");
    let on = reader.need(&shape.on, &at, "on", "2026-05-14");
    if let (Some(on), Some(ordered_on)) = (on, ordered_on)
        && on < ordered_on
    {
        let what = format!("the dispatch on `{on}` lies before the day of the order, {ordered_on}");
        let problem = reader.error(what).hint("correct `on` below `dispatch`");
        reader.at_value(&at.key("on"), problem);
    }
    let carrier = reader.take(&shape.carrier, &at, "carrier");
    let tracking = reader.take(&shape.tracking, &at, "tracking");
    Some(Dispatch {
        on: on?,
        carrier,
        tracking,
    })
}
