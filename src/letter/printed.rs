//! What a letter may print: words and numbers, never a gap, a condition or a list.
//!
//! The library prints whatever stands under a name: `true` for a condition, `[object]`
//! for a group of values, nothing for an empty text. So every `{{name}}` of a letter
//! becomes a call of a helper of ours that looks at the value first. The pages that
//! are no letters (`card`, `sheet`) print as the library does.

use std::fmt;

use handlebars::template::{Parameter, TemplateElement};
use handlebars::{
    Context, Handlebars, Helper, HelperDef, RenderContext, RenderError, RenderErrorReason,
    ScopedJson, Template,
};
use serde_json::Value;

/// Name of the helper; no template can spell it.
const PRINTED: &str = "a printed value";

/// Why a value cannot stand in a letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unprintable {
    /// The name, as the template has it.
    pub(super) path: String,
    /// What stands under it.
    pub(super) kind: Kind,
}

/// What stands under a name that is no word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Nothing.
    Empty,
    /// Yes or no.
    Condition,
    /// Several values with names of their own.
    Group,
    /// Entries, one after the other.
    List,
}

impl fmt::Display for Unprintable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = &self.path;
        match self.kind {
            Kind::Empty => write!(f, "`{path}` is empty in this letter"),
            Kind::Condition => write!(f, "`{path}` is a condition, no word for a letter"),
            Kind::Group => write!(f, "`{path}` is a group of values, no word for a letter"),
            Kind::List => write!(f, "`{path}` is a list, no word for a letter"),
        }
    }
}

impl std::error::Error for Unprintable {}

/// Adds the helper that [`look_first`] calls.
pub(super) fn register(registry: &mut Handlebars) {
    registry.register_helper(PRINTED, Box::new(Printed));
}

/// Changes a template of a letter so that each value is looked at before it is printed,
/// and each is escaped, also between three braces.
pub(super) fn look_first(template: &mut Template) {
    for element in &mut template.elements {
        match element {
            TemplateElement::Expression(_) | TemplateElement::HtmlExpression(_) => {
                let gap = TemplateElement::Comment(String::new());
                *element = looked_at(std::mem::replace(element, gap));
            }
            TemplateElement::HelperBlock(block) => {
                let parts = [&mut block.template, &mut block.inverse];
                parts.into_iter().flatten().for_each(look_first);
            }
            TemplateElement::PartialBlock(block) | TemplateElement::DecoratorBlock(block) => {
                block.template.iter_mut().for_each(look_first);
            }
            _ => {}
        }
    }
}

fn looked_at(element: TemplateElement) -> TemplateElement {
    match element {
        TemplateElement::Expression(mut call) | TemplateElement::HtmlExpression(mut call) => {
            let is_value = call.params.is_empty() && call.hash.is_empty();
            if is_value {
                let printed = Parameter::Name(PRINTED.to_owned());
                let name = std::mem::replace(&mut call.name, printed);
                call.params.push(name);
            }
            TemplateElement::Expression(call)
        }
        other => other,
    }
}

/// Tells whether nothing is seen of a character: white space, a joiner, a mark of order.
fn is_invisible(c: char) -> bool {
    let is_mark =
        matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2064}' | '\u{feff}');
    c.is_whitespace() || c.is_control() || is_mark
}

struct Printed;

impl HelperDef for Printed {
    fn call_inner<'reg: 'rc, 'rc>(
        &self,
        helper: &Helper<'rc>,
        _: &'reg Handlebars<'reg>,
        _: &'rc Context,
        _: &mut RenderContext<'reg, 'rc>,
    ) -> Result<ScopedJson<'rc>, RenderError> {
        let value = helper
            .param(0)
            .ok_or(RenderErrorReason::ParamNotFoundForIndex("a value", 0))?;
        if value.is_value_missing() {
            return Err(RenderError::strict_error(value.relative_path()));
        }
        let kind = match value.value() {
            Value::String(text) if text.chars().all(is_invisible) => Kind::Empty,
            Value::Null => Kind::Empty,
            Value::Bool(_) => Kind::Condition,
            Value::Object(_) => Kind::Group,
            Value::Array(_) => Kind::List,
            Value::String(_) | Value::Number(_) => {
                return Ok(ScopedJson::Derived(value.value().clone()));
            }
        };
        let path = value.relative_path().cloned();
        let path = path.unwrap_or_else(|| "this".to_owned());
        Err(RenderErrorReason::NestedError(Box::new(Unprintable { path, kind })).into())
    }
}
