//! The text letter in lines that every mail program shows well.
//!
//! A line of a template is a paragraph or an item of a list (`- `); it is
//! wrapped here, so that templates need not count columns. Runs of empty lines,
//! left behind by conditions, become one.

use textwrap::{Options, WordSplitter, WrapAlgorithm};

/// Longest line of a letter, as plain mail is read. [columns]
const COLUMNS: usize = 72;

/// Wraps a rendered text, ends it with one line end.
pub(super) fn wrap(text: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines() {
        let line = line.split_whitespace().collect::<Vec<_>>().join(" ");
        let follows_empty = lines.last().is_none_or(|last| last.is_empty());
        match line.is_empty() {
            true if follows_empty => {}
            true => lines.push(line),
            false => lines.extend(wrap_line(&line)),
        }
    }
    while lines.last().is_some_and(|line| line.is_empty()) {
        lines.pop();
    }
    lines.push(String::new());
    lines.join("\n")
}

fn wrap_line(line: &str) -> Vec<String> {
    let indent = if line.starts_with("- ") { "  " } else { "" };
    let options = Options::new(COLUMNS)
        .subsequent_indent(indent)
        .break_words(false)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    textwrap::wrap(line, options)
        .into_iter()
        .map(|piece| piece.into_owned())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn items_hang_and_empty_lines_do_not_pile_up() {
        let item = format!("- {}", "blue ".repeat(20));
        let text = format!("\n\nDear  you,\n\n\n{item}\nEnd.\n\n");
        let blue = |count: usize| vec!["blue"; count].join(" ");
        // "- " and 14 words of 5 columns less one blank are 71 columns.
        let expected = format!("Dear you,\n\n- {}\n  {}\nEnd.\n", blue(14), blue(6));
        assert_eq!(wrap(&text), expected);
    }

    #[test]
    fn a_word_longer_than_a_line_stays_whole() {
        let word = "x".repeat(100);
        assert_eq!(wrap(&word), format!("{word}\n"));
    }
}
