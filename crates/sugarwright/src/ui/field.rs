//! Fields of a form: a label, what was typed, and what is wrong with it.

use maud::{Markup, html};

/// A field for words or a number; `kind` is the input's type.
pub(crate) fn field(
    name: &str,
    label: &str,
    kind: &str,
    value: &str,
    hint: &str,
    error: Option<&str>,
) -> Markup {
    html! {
        div.field {
            label for=(name) { (label) }
            input id=(name) name=(name) type=(kind) value=(value)
                step=[(kind == "number").then_some("any")]
                aria-invalid=[error.map(|_| "true")]
                aria-describedby=[described(name, hint, error)];
            (below(name, hint, error))
        }
    }
}

/// A field for files.
pub(crate) fn file_field(
    name: &str,
    label: &str,
    accept: &str,
    is_multiple: bool,
    hint: &str,
    error: Option<&str>,
) -> Markup {
    html! {
        div.field {
            label for=(name) { (label) }
            input id=(name) name=(name) type="file" accept=(accept) multiple[is_multiple]
                aria-invalid=[error.map(|_| "true")]
                aria-describedby=[described(name, hint, error)];
            (below(name, hint, error))
        }
    }
}

/// A choice of one of a few.
pub(crate) fn choice(
    name: &str,
    label: &str,
    options: &[(&str, &str)],
    value: &str,
    error: Option<&str>,
) -> Markup {
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) aria-invalid=[error.map(|_| "true")]
                aria-describedby=[described(name, "", error)] {
                @for (option, words) in options {
                    option value=(option) selected[*option == value] { (words) }
                }
            }
            (below(name, "", error))
        }
    }
}

fn described(name: &str, hint: &str, error: Option<&str>) -> Option<String> {
    match (hint.is_empty(), error) {
        (true, None) => None,
        (false, None) => Some(format!("{name}-hint")),
        (true, Some(_)) => Some(format!("{name}-wrong")),
        (false, Some(_)) => Some(format!("{name}-wrong {name}-hint")),
    }
}

fn below(name: &str, hint: &str, error: Option<&str>) -> Markup {
    html! {
        @if let Some(error) = error { p.wrong id={ (name) "-wrong" } { (error) } }
        @if !hint.is_empty() { p.hint id={ (name) "-hint" } { (hint) } }
    }
}
