//! `fairday forget`: a customer's traces in orders that are closed, letters and pages.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::Args;

use super::load::{Loaded, load};
use super::written;
use super::{Common, Ended, output};
use crate::order::Order;
use crate::order::forget::{NotCleared, forget};
use crate::order::traces::Traces;
use crate::outside::edit::{edit, lock};
use crate::outside::forget::{pages_naming, remove_pages, rename};
use crate::outside::outbox::{Outbox, Remembered, orders_written_to, remembered};
use crate::problem::did_you_mean;
use crate::studio::Transport;
use crate::view::forget::{Fate, ForgetScreen, OrderLine, render_forget};

/// Take a customer out of closed orders, letters and pages; numbers stay.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday forget \"Tom Whitlock\"         shows what would go
  fairday forget tom@example.org --yes  does it")]
pub struct ForgetArgs {
    /// Name or mail address, as the orders have it; capitals do not count
    #[arg(value_name = "CUSTOMER")]
    customer: String,
    /// Do it; without this nothing is changed
    #[arg(long)]
    yes: bool,
}

/// What there is of a customer.
struct Found<'a> {
    name: String,
    traces: Traces,
    orders: Vec<OrderLine<'a>>,
    /// Orders whose letters go: the closed ones, and those whose file is gone.
    numbers: BTreeSet<String>,
    letters: Remembered,
    pages: Vec<PathBuf>,
}

/// Shows what there is of a customer, and takes it away when told to.
pub fn run(common: &Common, args: &ForgetArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    if let Some(order) = loaded.orders.iter().find(|o| o.number == args.customer) {
        bail!(
            "`{}` is an order; name its customer: `{}`",
            order.number,
            order.customer.name
        );
    }
    let mut found = find(&loaded, &args.customer)?;
    if found.is_nothing() {
        return nothing(&loaded, &args.customer);
    }
    if args.yes {
        found.take_away(&loaded)?;
    }
    let screen = ForgetScreen {
        typed: &args.customer,
        name: &found.name,
        addresses: addresses(&loaded, &args.customer),
        orders: &found.orders,
        without_file: found.without_file(),
        mails: found.letters.mails.len(),
        letters: found.letters.letters,
        pages: found
            .pages
            .iter()
            .map(|page| shown(&loaded, page))
            .collect(),
        unread: &loaded.unread,
        done: args.yes,
    };
    output::show(common, &render_forget(&screen, output::setting(common)))?;
    Ok(Ended::look_if(
        found.stays() || output::has_errors(&loaded.problems),
    ))
}

/// Finds everything that names the customer who was typed.
fn find<'a>(loaded: &'a Loaded, typed: &str) -> Result<Found<'a>> {
    let meant = loaded.orders.iter();
    let meant: Vec<&Order> = meant.filter(|o| o.customer.is_meant_by(typed)).collect();
    let mut traces = Traces::of_words(typed);
    for order in &meant {
        traces.add(&order.customer);
    }
    let closed = meant.iter().filter(|order| order.is_closed());
    let mut numbers: BTreeSet<String> = closed.map(|order| order.number.clone()).collect();
    // A file with errors may hold the order of any letter.
    if loaded.unread.is_empty() {
        let known: BTreeSet<&str> = loaded.orders.iter().map(|o| o.number.as_str()).collect();
        let written = orders_written_to(&loaded.folder, &|address| traces.name_in(address))?;
        numbers.extend(written.into_iter().filter(|n| !known.contains(n.as_str())));
    }
    let letters = remembered(&loaded.folder, taken_to(loaded).as_deref(), &numbers)?;
    let mut orders = Vec::new();
    for order in &meant {
        orders.push(line(loaded, order, &traces, &letters)?);
    }
    for line in orders.iter().filter(|line| !line.fate.is_going()) {
        numbers.remove(&line.order.number);
    }
    let letters = remembered(&loaded.folder, taken_to(loaded).as_deref(), &numbers)?;
    let mut found = Found {
        name: meant.first().map_or(typed, |o| &o.customer.name).to_owned(),
        traces,
        orders,
        numbers,
        letters,
        pages: Vec::new(),
    };
    found.pages = pages(loaded, &found)?;
    Ok(found)
}

/// Says what is to become of an order of the customer.
fn line<'a>(
    loaded: &Loaded,
    order: &'a Order,
    traces: &Traces,
    letters: &Remembered,
) -> Result<OrderLine<'a>> {
    let unsure = letters.unsure.iter().find(|(of, _)| *of == order.number);
    let path = loaded.folder.join(&order.file);
    let text =
        std::fs::read_to_string(&path).with_context(|| format!("reading `{}`", order.file))?;
    let fate = match (forget(&text, traces), unsure) {
        (Err(NotCleared::Open), _) => Fate::Open,
        (Err(other), _) => Fate::ByHand(other.to_string()),
        (Ok(_), Some((_, letter))) => Fate::InDoubt(letter.clone()),
        (Ok(cleared), None) => Fate::Goes {
            cleared,
            new_file: new_file(loaded, order, traces),
        },
    };
    Ok(OrderLine { order, fate })
}

/// Names the file after the number alone if its name names the customer.
fn new_file(loaded: &Loaded, order: &Order, traces: &Traces) -> Option<String> {
    let path = Path::new(&order.file);
    let stem = path.file_stem()?.to_str()?;
    let other = format!("{}.yaml", written::file_name(&order.number));
    let is_free = !loaded.folder.join(&other).exists();
    (traces.may_be_in(stem) && is_free).then_some(other)
}

/// Finds the pages that name the customer; while an order is open they are needed, and
/// only what was made for the others goes.
fn pages(loaded: &Loaded, found: &Found) -> Result<Vec<PathBuf>> {
    let naming = pages_naming(&sheets(loaded), &|text| found.traces.name_in(text))?;
    if !found.stays() {
        return Ok(naming);
    }
    let own = |page: &PathBuf| {
        let stem = page.file_stem().and_then(|stem| stem.to_str());
        let numbers = found
            .numbers
            .iter()
            .map(|number| written::file_name(number));
        let mut names = numbers.flat_map(|n| [format!("card-{n}"), format!("certificate-{n}")]);
        names.any(|name| Some(name.as_str()) == stem)
    };
    Ok(naming.into_iter().filter(own).collect())
}

impl Found<'_> {
    fn is_nothing(&self) -> bool {
        let letters = self.letters.letters + self.letters.mails.len();
        self.orders.is_empty() && letters == 0 && self.pages.is_empty()
    }

    /// Tells whether some order keeps its customer.
    fn stays(&self) -> bool {
        self.orders.iter().any(|line| !line.fate.is_going())
    }

    /// Returns the orders of letters whose files are gone.
    fn without_file(&self) -> Vec<&str> {
        let has_file = |number: &&str| self.orders.iter().any(|l| l.order.number == **number);
        let numbers = self.numbers.iter().map(String::as_str);
        numbers.filter(|number| !has_file(number)).collect()
    }

    /// Takes everything away that goes.
    ///
    /// The order files come last: as long as one names the customer, a run that was
    /// stopped can be run again in the same words and finds the rest.
    fn take_away(&mut self, loaded: &Loaded) -> Result<()> {
        let has_letters = self.letters.letters + self.letters.mails.len() > 0;
        let outbox = has_letters.then(|| Outbox::open(&loaded.folder));
        // Whoever else is at work is found out before anything goes.
        let mut outbox = outbox.transpose()?;
        let lock = lock(&loaded.folder)?;
        if let Some(outbox) = &mut outbox {
            let taken_to = taken_to(loaded);
            outbox.forget(taken_to.as_deref(), &self.numbers, loaded.instant())?;
        }
        remove_pages(&sheets(loaded), &self.pages)?;
        for line in &self.orders {
            let Fate::Goes { new_file, .. } = &line.fate else {
                continue;
            };
            let old = &line.order.file;
            if let Some(new) = new_file {
                rename(&lock, &loaded.folder, old, new)?;
            }
            let path = loaded.folder.join(new_file.as_ref().unwrap_or(old));
            edit(&lock, &path, |text| {
                forget(text, &self.traces).map(|cleared| cleared.text)
            })?;
        }
        Ok(())
    }
}

/// Says that nothing is left, and whom the maker may have meant.
fn nothing(loaded: &Loaded, typed: &str) -> Result<Ended> {
    let customers = loaded.orders.iter().map(|order| &order.customer);
    let customers = customers.filter(|customer| !customer.is_forgotten());
    let names = customers.flat_map(|c| [Some(c.name.as_str()), c.email.as_deref()]);
    let known: Vec<&str> = names.flatten().collect();
    let meant = did_you_mean(typed, &known);
    let words = match meant {
        Some(name) => format!(" Did you mean `{name}`?"),
        None => String::new(),
    };
    output::answer(&format!(
        "Nothing of `{typed}` is left: no order, letter or page here names them.{words}\n"
    ))?;
    if !loaded.unread.is_empty() {
        let files = loaded.unread.join("`, `");
        output::remark(&format!("Not looked at, since it has errors: `{files}`."));
    }
    Ok(Ended::look_if(meant.is_some() || !loaded.unread.is_empty()))
}

/// Returns the mail addresses of the customers who are meant, each once.
fn addresses<'a>(loaded: &'a Loaded, typed: &str) -> Vec<&'a str> {
    let meant = loaded.orders.iter().map(|order| &order.customer);
    let meant = meant.filter(|customer| customer.is_meant_by(typed));
    let mut addresses: Vec<&str> = meant.filter_map(|c| c.email.as_deref()).collect();
    addresses.sort_unstable();
    addresses.dedup();
    addresses
}

/// Returns the folder into which letters are written, if they go there.
fn taken_to(loaded: &Loaded) -> Option<PathBuf> {
    match &loaded.studio.letters.transport {
        Transport::Folder(path) => Some(loaded.folder.join(path)),
        Transport::Sendmail(_) | Transport::Smtp { .. } => None,
    }
}

fn sheets(loaded: &Loaded) -> PathBuf {
    loaded.folder.join(written::FOLDER)
}

fn shown(loaded: &Loaded, path: &Path) -> String {
    let inside = path.strip_prefix(&loaded.folder).unwrap_or(path);
    inside.display().to_string()
}
