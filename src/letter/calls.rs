//! Which templates call which, so that none calls itself over others without end.

use std::collections::BTreeMap;

use handlebars::Template;
use handlebars::template::{Parameter, TemplateElement};

/// Returns the names of the templates that `template` calls, in the order of its text.
pub(super) fn called(template: &Template) -> Vec<String> {
    let mut names = Vec::new();
    gather(template, &mut names);
    names
}

fn gather(template: &Template, names: &mut Vec<String>) {
    for element in &template.elements {
        match element {
            TemplateElement::HelperBlock(block) => {
                let parts = [&block.template, &block.inverse];
                parts.into_iter().flatten().for_each(|t| gather(t, names));
            }
            TemplateElement::PartialExpression(call) | TemplateElement::PartialBlock(call) => {
                // Any other is computed; no letter of ours needs one.
                if let Parameter::Name(name) = &call.name {
                    names.push(name.clone());
                }
                call.template.iter().for_each(|t| gather(t, names));
            }
            TemplateElement::DecoratorBlock(block) => {
                block.template.iter().for_each(|t| gather(t, names));
            }
            _ => {}
        }
    }
}

/// Finds a round of calls: templates of which each calls the next, and the last the first.
pub(super) fn round(calls: &BTreeMap<String, Vec<String>>) -> Option<Vec<&str>> {
    let mut done = Vec::new();
    calls
        .keys()
        .find_map(|name| round_from(name, calls, &mut Vec::new(), &mut done))
}

fn round_from<'c>(
    name: &'c str,
    calls: &'c BTreeMap<String, Vec<String>>,
    way: &mut Vec<&'c str>,
    done: &mut Vec<&'c str>,
) -> Option<Vec<&'c str>> {
    if let Some(at) = way.iter().position(|earlier| *earlier == name) {
        return Some(way[at..].to_vec());
    }
    if done.contains(&name) {
        return None;
    }
    way.push(name);
    let next = calls.get(name).into_iter().flatten();
    for called in next {
        if let Some(found) = round_from(called, calls, way, done) {
            return Some(found);
        }
    }
    way.pop();
    done.push(name);
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_is_found_and_a_template_called_twice_is_none() {
        let check = |lists: &[(&str, &[&str])], expected: Option<Vec<&str>>| {
            let calls = lists.iter().map(|(name, called)| {
                let called = called.iter().map(|c| (*c).to_owned());
                ((*name).to_owned(), called.collect())
            });
            assert_eq!(round(&calls.collect()), expected);
        };
        check(&[("a", &["b", "c"]), ("b", &["c"]), ("c", &[])], None);
        check(&[("a", &["a"])], Some(vec!["a"]));
        check(
            &[("a", &["b"]), ("b", &["c"]), ("c", &["b"])],
            Some(vec!["b", "c"]),
        );
        check(&[("a", &["not there"])], None);
    }
}
