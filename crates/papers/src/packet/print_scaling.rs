//! Asks viewers to print at 100 %: `/ViewerPreferences << /PrintScaling /None >>` in the catalog.
//!
//! The entry is ISO 32000-1:2008, table 150; it goes into a finished file by an incremental update
//! (same standard, 7.5.6): a new version of the catalog, a cross-reference section for it alone,
//! and a trailer that points back to the one before.
//! Only files whose cross-references are a table and whose catalog is an object of its own are updated;
//! a file with cross-reference streams (7.5.8) is refused with a sentence that says so.

use crate::Error;

/// Adds the wish to be printed at 100 % to a PDF.
///
/// # Errors
/// The file has no cross-reference table, or no catalog is found through it.
pub(super) fn print_at_full_size(mut pdf: Vec<u8>) -> Result<Vec<u8>, Error> {
    let Section { start, root, root_offset, trailer } = last_section(&pdf)?;
    let catalog = pdf
        .get(root_offset..)
        .filter(|object| number_at(object, 0) == Some(root))
        .and_then(dictionary)
        .ok_or_else(|| refused("its catalog is not where the table says"))?;
    let catalog = with_print_scaling(catalog)?;
    let trailer = with_entry(trailer, &format!("/Prev {start}"));

    if !pdf.ends_with(b"\n") {
        pdf.push(b'\n');
    }
    let offset = pdf.len();
    pdf.extend(format!("{root} 0 obj\n").bytes());
    pdf.extend(catalog);
    pdf.extend(b"\nendobj\n");
    let table = pdf.len();
    // An entry is twenty bytes long with its line end (7.5.4).
    pdf.extend(format!("xref\n{root} 1\n{offset:010} 00000 n\r\ntrailer\n").bytes());
    pdf.extend(trailer);
    pdf.extend(format!("\nstartxref\n{table}\n%%EOF\n").bytes());
    Ok(pdf)
}

/// The last cross-reference section of a file.
struct Section<'a> {
    /// Where it begins.
    start: usize,
    /// Number of the catalog.
    root: usize,
    /// Where the catalog begins.
    root_offset: usize,
    /// The trailer's dictionary.
    trailer: &'a [u8],
}

fn last_section(pdf: &[u8]) -> Result<Section<'_>, Error> {
    let start = Some(pdf)
        .filter(|pdf| pdf.trim_ascii_end().ends_with(b"%%EOF"))
        .and_then(|pdf| after_last(pdf, b"startxref"))
        .and_then(|rest| number_at(rest, 0))
        .ok_or_else(|| refused("it does not say where its cross-references are"))?;
    let section = pdf
        .get(start..)
        .and_then(|rest| rest.strip_prefix(b"xref"))
        .ok_or_else(|| refused("its cross-references are a stream, not a table"))?;
    let (table, rest) = split_at_first(section, b"trailer")
        .ok_or_else(|| refused("its cross-reference table has no trailer"))?;
    let trailer = dictionary(rest).ok_or_else(|| refused("its trailer is no dictionary"))?;
    if split_at_first(trailer, b"/Prev").is_some() {
        return Err(refused("it has been updated before"));
    }
    let root = split_at_first(trailer, b"/Root")
        .and_then(|(_, rest)| number_at(rest, 0))
        .ok_or_else(|| refused("its trailer names no catalog"))?;
    let root_offset =
        offset_of(table, root).ok_or_else(|| refused("its catalog is no object of its own"))?;
    Ok(Section { start, root, root_offset, trailer })
}

/// Finds where an object begins, by the subsections of a cross-reference table.
fn offset_of(table: &[u8], wanted: usize) -> Option<usize> {
    let mut words = std::str::from_utf8(table).ok()?.split_ascii_whitespace();
    loop {
        let first: usize = words.next()?.parse().ok()?;
        let n: usize = words.next()?.parse().ok()?;
        for number in first..first.checked_add(n)? {
            let (offset, _generation, kind) = (words.next()?, words.next()?, words.next()?);
            if number == wanted {
                return if kind == "n" { offset.parse().ok() } else { None };
            }
        }
    }
}

/// Puts the entry into the viewer preferences of a catalog.
fn with_print_scaling(catalog: &[u8]) -> Result<Vec<u8>, Error> {
    const WISH: &str = "/PrintScaling /None";
    let Some((before, preferences)) = split_at_first(catalog, b"/ViewerPreferences") else {
        return Ok(with_entry(catalog, &format!("/ViewerPreferences << {WISH} >>")));
    };
    let inner = preferences
        .trim_ascii_start()
        .strip_prefix(b"<<")
        .filter(|_| split_at_first(preferences, b"/PrintScaling").is_none())
        .ok_or_else(|| refused("its viewer preferences stand elsewhere or say how to print"))?;
    Ok([before, b"/ViewerPreferences << ", WISH.as_bytes(), inner].concat())
}

/// Appends an entry to a dictionary, which ends with its closing brackets.
fn with_entry(dictionary: &[u8], entry: &str) -> Vec<u8> {
    let inside = dictionary.strip_suffix(b">>").unwrap_or(dictionary);
    [inside, b" ", entry.as_bytes(), b" >>"].concat()
}

/// Returns the first dictionary, from its opening to its closing brackets; strings in it may hold brackets (7.3.4).
fn dictionary(bytes: &[u8]) -> Option<&[u8]> {
    let (before, _) = split_at_first(bytes, b"<<")?;
    let start = before.len();
    let (mut depth, mut parentheses, mut at) = (0_usize, 0_usize, start);
    while let Some(&byte) = bytes.get(at) {
        let next = bytes.get(at + 1).copied();
        at += match (byte, next) {
            (b'\\', _) if parentheses > 0 => 2,
            (b'(', _) => {
                parentheses += 1;
                1
            }
            (b')', _) => {
                parentheses = parentheses.saturating_sub(1);
                1
            }
            (b'<', Some(b'<')) if parentheses == 0 => {
                depth += 1;
                2
            }
            (b'<', _) if parentheses == 0 => {
                bytes.get(at..)?.iter().position(|&byte| byte == b'>')? + 1
            }
            (b'>', Some(b'>')) if parentheses == 0 => {
                depth -= 1;
                if depth == 0 {
                    return bytes.get(start..at + 2);
                }
                2
            }
            _ => 1,
        };
    }
    None
}

/// Reads the number with which these bytes begin.
fn number_at(bytes: &[u8], at: usize) -> Option<usize> {
    let bytes = bytes.get(at..)?.trim_ascii_start();
    let n_digits = bytes.iter().take_while(|byte| byte.is_ascii_digit()).count();
    std::str::from_utf8(bytes.get(..n_digits)?).ok()?.parse().ok()
}

/// Splits before and behind the first place of a word.
fn split_at_first<'a>(bytes: &'a [u8], word: &[u8]) -> Option<(&'a [u8], &'a [u8])> {
    let at = bytes.windows(word.len()).position(|window| window == word)?;
    Some((bytes.get(..at)?, bytes.get(at + word.len()..)?))
}

/// Returns what stands behind the last place of a word.
fn after_last<'a>(bytes: &'a [u8], word: &[u8]) -> Option<&'a [u8]> {
    let at = bytes.windows(word.len()).rposition(|window| window == word)?;
    bytes.get(at + word.len()..)
}

fn refused(reason: &str) -> Error {
    Error::PrintScaling { reason: reason.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of one catalog with these entries, written by hand after ISO 32000-1:2008, annex H.2.
    fn file(catalog: &str) -> Vec<u8> {
        let mut pdf = String::from("%PDF-1.4\n");
        let first = pdf.len();
        pdf += &format!("1 0 obj\n<< /Type /Catalog /Pages 2 0 R {catalog}>>\nendobj\n");
        let second = pdf.len();
        pdf += "2 0 obj\n<< /Type /Pages /Kids [] /Count 0 >>\nendobj\n";
        let table = pdf.len();
        pdf += &format!(
            "xref\n0 3\n0000000000 65535 f\r\n{first:010} 00000 n\r\n{second:010} 00000 n\r\n"
        );
        pdf += &format!("trailer\n<< /Size 3 /Root 1 0 R >>\nstartxref\n{table}\n%%EOF");
        pdf.into_bytes()
    }

    fn check(catalog: &str, expected: &str) {
        let before = file(catalog);
        let after = print_at_full_size(before.clone()).expect("it is updated");
        assert!(after.starts_with(&before), "an update only appends");
        let update = String::from_utf8(after[before.len()..].to_vec()).expect("text");
        assert_eq!(update.lines().nth(2), Some(expected));

        // The new table leads to the new catalog, its trailer to the old table.
        let start = after_last(&after, b"startxref").and_then(|rest| number_at(rest, 0));
        let table = &after[start.expect("a place")..];
        let (entries, rest) =
            split_at_first(&table[b"xref".len()..], b"trailer").expect("a trailer");
        let object = &after[offset_of(entries, 1).expect("the catalog")..];
        assert!(object.starts_with(b"1 0 obj\n<<"));
        let (_, previous) = split_at_first(rest, b"/Prev").expect("the old table");
        let previous = number_at(previous, 0).expect("a place");
        assert!(before[previous..].starts_with(b"xref"));
    }

    #[test]
    fn the_wish_is_appended_to_the_catalog() {
        check(
            "/Lang (en) ",
            "<< /Type /Catalog /Pages 2 0 R /Lang (en)  /ViewerPreferences << /PrintScaling /None >> >>",
        );
        check(
            "/Id <2F>",
            "<< /Type /Catalog /Pages 2 0 R /Id <2F> /ViewerPreferences << /PrintScaling /None >> >>",
        );
        check(
            "/Lang (>>\\)>>) ",
            "<< /Type /Catalog /Pages 2 0 R /Lang (>>\\)>>)  /ViewerPreferences << /PrintScaling /None >> >>",
        );
    }

    #[test]
    fn other_preferences_stay() {
        check(
            "/ViewerPreferences << /Direction /L2R >> ",
            "<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None /Direction /L2R >> >>",
        );
    }

    #[test]
    fn what_cannot_be_updated_is_refused_with_the_reason() {
        let reason = |pdf: Vec<u8>| print_at_full_size(pdf).expect_err("refused").to_string();
        assert_eq!(
            reason(b"%PDF-1.7\n9 0 obj\n<</Type/XRef>>stream\nstartxref\n9\n%%EOF".to_vec()),
            "the file cannot ask to be printed at 100 %: its cross-references are a stream, not a table"
        );
        let once = print_at_full_size(file("")).expect("it is updated");
        assert!(reason(once).ends_with("it has been updated before"));
        assert!(reason(file("/ViewerPreferences 3 0 R ")).ends_with("say how to print"));
        assert!(reason(Vec::new()).ends_with("where its cross-references are"));
        let whole = file("");
        for length in 0..whole.len() {
            assert!(print_at_full_size(whole[..length].to_vec()).is_err(), "cut after {length}");
        }
    }
}
