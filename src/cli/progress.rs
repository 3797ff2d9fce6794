//! A sign of life on the error channel while something takes its time.
//!
//! Only on a terminal, only after half a second, and gone before the answer comes.

use std::io::{IsTerminal, Write, stderr};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

/// Waiting that needs no word.
const SILENT: Duration = Duration::from_millis(500);
/// From one word to the next.
const BEAT: Duration = Duration::from_secs(1);

/// Looking for the reasons of late orders, in words.
pub const ASKING_WHY: &str = "asking why orders are late";

/// Does `work`; says `what` is going on meanwhile if it takes long.
pub fn while_doing<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !stderr().is_terminal() {
        return work();
    }
    let (done, ended) = channel();
    thread::scope(|scope| {
        scope.spawn(move || tell(what, &ended, SILENT, &mut stderr()));
        let answer = work();
        drop::<std::sync::mpsc::Sender<()>>(done);
        answer
    })
}

/// Writes one line again and again until the other end is dropped, then takes it away.
fn tell(what: &str, ended: &Receiver<()>, silent: Duration, out: &mut impl Write) {
    let mut wait = silent;
    let mut widest = 0;
    for beat in 0_u64.. {
        if ended.recv_timeout(wait) != Err(RecvTimeoutError::Timeout) {
            break;
        }
        let line = match beat {
            0 => format!("{what} …"),
            _ => format!("{what} … {beat} s"),
        };
        widest = line.chars().count();
        // Nobody to tell it to is no reason to stop the work.
        let _ = write!(out, "\r{line}").and_then(|()| out.flush());
        wait = BEAT;
    }
    if widest > 0 {
        let _ = write!(out, "\r{:widest$}\r", "").and_then(|()| out.flush());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_quick_is_done_without_a_word() {
        let (done, ended) = channel();
        drop(done);
        let mut out = Vec::new();
        tell("planning", &ended, SILENT, &mut out);
        assert!(out.is_empty());
    }

    #[test]
    fn a_word_is_said_and_taken_away_again() {
        let (done, ended) = channel();
        let mut out = Vec::new();
        thread::scope(|scope| {
            scope.spawn(move || {
                thread::sleep(Duration::from_millis(200));
                drop::<std::sync::mpsc::Sender<()>>(done);
            });
            tell("planning", &ended, Duration::from_millis(10), &mut out);
        });
        let said = String::from_utf8(out).unwrap();
        assert_eq!(said, "\rplanning …\r          \r");
    }
}
