//! Where a value stands in its text. Built only when something must be shown.

use std::ops::Range;

use yamlpath::{Component, Document, Route};

use super::trail::Step;

/// Finds places in one text.
pub struct Locator {
    /// None if the text cannot be parsed for its places.
    document: Option<Document>,
}

impl Locator {
    /// Prepares a text for looking up places.
    pub fn new(text: &str) -> Locator {
        Locator {
            document: Document::new(text).ok(),
        }
    }

    /// Finds the bytes of the value that the steps lead to; of its key if the
    /// key has no value. No steps lead to the whole content.
    pub fn find_value(&self, steps: &[Step]) -> Option<Range<usize>> {
        let document = self.document.as_ref()?;
        if steps.is_empty() {
            let top = document.top_feature().ok()?;
            return Some(top.location.byte_span.0..top.location.byte_span.1);
        }
        match document.query_exact(&route(steps)).ok()? {
            Some(feature) => Some(feature.location.byte_span.0..feature.location.byte_span.1),
            None => self.find_key(steps),
        }
    }

    /// Finds the bytes of a list entry as it stands there: an alias is not followed,
    /// an anchor is part of it.
    pub fn find_entry(&self, steps: &[Step]) -> Option<Range<usize>> {
        let document = self.document.as_ref()?;
        let feature = document.query_pretty(&route(steps)).ok()?;
        Some(feature.location.byte_span.0..feature.location.byte_span.1)
    }

    /// Finds the bytes of the last key of the steps, which must end in one.
    pub fn find_key(&self, steps: &[Step]) -> Option<Range<usize>> {
        let document = self.document.as_ref()?;
        let feature = document.query_key_only(&route(steps)).ok()?;
        Some(feature.location.byte_span.0..feature.location.byte_span.1)
    }

    /// Finds the place that names a mapping: its own key, the first key of a
    /// list entry, the first key of the file.
    pub fn find_name(&self, steps: &[Step]) -> Option<Range<usize>> {
        if matches!(steps.last(), Some(Step::Key(_))) {
            return self.find_key(steps);
        }
        let document = self.document.as_ref()?;
        let whole = self.find_value(steps)?;
        let words = &document.source()[whole.clone()];
        let length = words.find([':', '\n', ',']).unwrap_or(words.len());
        Some(whole.start..whole.start + length)
    }

    /// Returns where the content of a value of `text` ends, without blank and comment
    /// lines that the parser counts in.
    pub fn content_end(&self, text: &str, value: &Range<usize>) -> usize {
        let mut end = value.start + text[value.clone()].trim_end().len();
        loop {
            let line_start = text[..end].rfind('\n').map_or(0, |i| i + 1);
            let line = &text[line_start..end];
            let hash = line_start + line.len() - line.trim_start().len();
            let is_comment = line.trim_start().starts_with('#')
                && line_start > value.start
                && self.is_comment(hash);
            if !is_comment {
                return end;
            }
            end = value.start + text[value.start..line_start].trim_end().len();
        }
    }

    /// Tells whether a byte belongs to a comment.
    pub fn is_comment(&self, at: usize) -> bool {
        let document = self.document.as_ref();
        document.is_some_and(|document| document.offset_inside_comment(at))
    }
}

/// Turns steps into a route of the parser.
pub fn route(steps: &[Step]) -> Route<'_> {
    let component = |step: &'_ Step| match step {
        Step::Key(key) => Component::Key(key.clone().into()),
        Step::Index(index) => Component::Index(*index),
    };
    Route::from(steps.iter().map(component).collect::<Vec<_>>())
}
