//! Numbers as people type them.

/// Reads a number; a comma may stand for the point.
///
/// # Errors
/// It is none: a sentence for its field.
pub(super) fn number(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let number = text.replace(',', ".").parse().ok().filter(|number: &f64| number.is_finite());
    number.ok_or_else(|| format!("\"{text}\" is no number; write it like 12.5"))
}
