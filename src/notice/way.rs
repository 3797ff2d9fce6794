//! Whether a letter may leave by itself, or the maker has to tell it.

use serde::Serialize;

use super::{Delay, Kind, Notice, Sent, Silence, Standing};
use crate::order::Order;
use crate::studio::Studio;
use crate::yaml::address::in_ascii;

/// How a notice can reach the customer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// By mail, without anybody's further doing.
    Mail {
        /// The customer's address.
        #[serde(serialize_with = "masked")]
        address: String,
        /// Addresses of others who get the same letter.
        #[serde(serialize_with = "all_masked", skip_serializing_if = "Vec::is_empty")]
        copies_to: Vec<String>,
    },
    /// By the maker herself: telephone, post, a mail in her own words.
    ByHand {
        /// What stands in the way of a mail.
        obstacle: Obstacle,
    },
}

impl Way {
    /// Tells whether it leaves by itself.
    pub fn is_by_mail(&self) -> bool {
        matches!(self, Way::Mail { .. })
    }
}

/// Why a letter must not leave by itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Obstacle {
    /// The order names no mail address.
    NoAddress,
    /// The order is on hold; only the maker knows what that means for the customer.
    Hold {
        /// Her reason, not meant for the customer's eyes.
        reason: String,
    },
    /// The last letter to this address was refused for good.
    Refused,
    /// A letter of this kind may or may not have been taken by the mail server,
    /// and the order's file does not record it either.
    Unsure,
    /// The last day for telling it went by; the rule now asks for a refund.
    Lapsed,
}

/// Decides whether the letter may leave by itself.
pub(super) fn way(order: &Order, studio: &Studio, kind: &Kind, sent: &[&Sent]) -> Way {
    let by_hand = |obstacle| Way::ByHand { obstacle };
    if let Some(reason) = held(order, kind) {
        return by_hand(Obstacle::Hold { reason });
    }
    if let Kind::Delayed(Delay {
        silence: Silence::Lapsed,
        ..
    }) = kind
    {
        return by_hand(Obstacle::Lapsed);
    }
    let Some(address) = order.customer.email.clone() else {
        return by_hand(Obstacle::NoAddress);
    };
    let mut between = sent
        .iter()
        .rev()
        .filter(|s| s.to == in_ascii(&address) && s.from == in_ascii(&studio.letters.from));
    let last = between.next();
    if last.is_some_and(|s| s.standing == Standing::Refused) {
        return by_hand(Obstacle::Refused);
    }
    // Another address makes a doubt no smaller: she may have read it at the old one.
    if sent
        .iter()
        .any(|s| s.kind == kind.name() && is_in_doubt(s, order))
    {
        return by_hand(Obstacle::Unsure);
    }
    let copies_to = order.customer.copies_to.clone();
    Way::Mail { address, copies_to }
}

/// Tells whether nobody knows of a letter, and the order's file does not record it either.
fn is_in_doubt(sent: &Sent, order: &Order) -> bool {
    let mut notified = order.notified.iter();
    let is_noted = notified.any(|n| n.kind == sent.kind && n.date == sent.date);
    sent.standing == Standing::Unsure && !is_noted
}

/// Returns the letters of which nobody knows whether they arrived, and of which none of
/// `notices` speaks: their news is over, and the doubt is not.
pub fn doubts<'s>(orders: &[Order], sent: &'s [Sent], notices: &[Notice]) -> Vec<&'s Sent> {
    let is_told = |sent: &Sent| {
        let same = |n: &&Notice| n.order == sent.order && n.kind.name() == sent.kind;
        notices.iter().find(same).is_some_and(|n| {
            matches!(
                n.way,
                Way::ByHand {
                    obstacle: Obstacle::Unsure
                }
            )
        })
    };
    let is_open = |sent: &Sent| {
        let mut orders = orders.iter();
        match orders.find(|order| order.number == sent.order) {
            Some(order) => is_in_doubt(sent, order),
            None => sent.standing == Standing::Unsure,
        }
    };
    let open = sent.iter().filter(|sent| is_open(sent) && !is_told(sent));
    open.collect()
}

/// Returns the reason for which nothing of the kind may be written by itself.
///
/// A single piece on hold keeps nobody from confirming the order, and what has
/// left is on hold no more.
fn held(order: &Order, kind: &Kind) -> Option<String> {
    let of_piece = || order.pieces.iter().find_map(|piece| piece.hold.clone());
    match kind {
        Kind::Dispatched { .. } | Kind::Cancelled { .. } => None,
        Kind::Taken { .. } => order.hold.clone(),
        Kind::Planned { .. } | Kind::Delayed(_) | Kind::Remade { .. } | Kind::Ready { .. } => {
            order.hold.clone().or_else(of_piece)
        }
    }
}

/// Returns a mail address that tells whose it is only to those who know it.
///
/// # Example
/// ```
/// use fairday::notice::mask;
/// assert_eq!(mask("ines.calder@example.org"), "i…@example.org");
/// assert_eq!(mask("no address"), "…");
/// ```
pub fn mask(address: &str) -> String {
    match address.rsplit_once('@') {
        Some((local, domain)) if !local.is_empty() => {
            let first: String = local.chars().take(1).collect();
            format!("{first}…@{domain}")
        }
        _ => "…".to_owned(),
    }
}

fn all_masked<S: serde::Serializer>(
    addresses: &[String],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(addresses.iter().map(|address| mask(address)))
}

/// Writes an address into JSON with all but its first letter hidden.
fn masked<S: serde::Serializer>(address: &str, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&mask(address))
}
