//! What is to be bought, as a list a spreadsheet can read?
//!
//! The format is CSV (RFC 4180): CRLF, one header, quotes where they are needed, units in the names of the columns.
//! Amounts of money are decimals of the currency that stands in the column's name.
//! A name that a spreadsheet would take for a formula gets an apostrophe in front (OWASP, "CSV Injection").

use craft::document::plan::ShoppingDocument;
use csv::{Terminator, WriterBuilder};
use quantity::{Currency, Money};

use crate::words::decimal;

/// Writes the shopping list: one line for each ingredient and each kind of packaging.
pub fn shopping_csv(lines: &[ShoppingDocument], currency: Currency) -> String {
    let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
    let code = currency.code().to_lowercase();
    let [cost, outlay] = ["cost", "outlay"].map(|name| format!("{name}_{code}"));
    let header =
        ["name", "need_g", "need_pieces", "pack_g", "pack_pieces", "packs", &cost, &outlay];
    let header = header.map(str::to_owned);
    for record in std::iter::once(header).chain(lines.iter().map(|line| record(line, currency))) {
        writer
            .write_record(record)
            .expect("records in memory have equal lengths and a place to go");
    }
    let bytes = writer.into_inner().expect("flushing to memory does not fail");
    String::from_utf8(bytes).expect("what was written as text is text")
}

fn record(line: &ShoppingDocument, currency: Currency) -> [String; 8] {
    let mass = |g: Option<f64>| g.map(|g| format!("{g:.1}")).unwrap_or_default();
    let pieces = |n: Option<u32>| n.map(|n| n.to_string()).unwrap_or_default();
    let money = |minor| decimal(Money::minor(minor), currency);
    [
        defused(&line.name),
        mass(line.mass_g),
        pieces(line.pieces),
        mass(line.pack_g),
        pieces(line.pack_pieces),
        line.packs.to_string(),
        money(line.cost_minor),
        money(line.outlay_minor),
    ]
}

fn defused(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weighed(name: &str, mass_g: f64, pack_g: f64) -> ShoppingDocument {
        ShoppingDocument {
            mass_g: Some(mass_g),
            pieces: None,
            pack_g: Some(pack_g),
            pack_pieces: None,
            ..counted(name, 0)
        }
    }

    fn counted(name: &str, pieces: u32) -> ShoppingDocument {
        ShoppingDocument {
            name: name.to_owned(),
            mass_g: None,
            pieces: Some(pieces),
            pack_g: None,
            pack_pieces: Some(1),
            packs: 2,
            cost_minor: 405,
            outlay_minor: 1100,
        }
    }

    fn cad() -> Currency {
        Currency::from_code("CAD").expect("a code")
    }

    #[test]
    fn the_list_has_a_header_with_units_and_ends_its_lines_as_rfc_4180_asks() {
        let lines = [weighed("sugar, \"fine\"", 1904.26, 1000.0), counted("bag 4 x 6 in", 34)];
        insta::assert_snapshot!(shopping_csv(&lines, cad()).replace("\r\n", "␍␊\n"), @r#"
        name,need_g,need_pieces,pack_g,pack_pieces,packs,cost_cad,outlay_cad␍␊
        "sugar, ""fine""",1904.3,,1000.0,,2,4.05,11.00␍␊
        bag 4 x 6 in,,34,,1,2,4.05,11.00␍␊
        "#);
    }

    #[test]
    fn every_name_reads_back_and_none_is_a_formula() {
        let names =
            ["=1+1", "+1", "-1", "@now", "\tx", "\rx", "a,b", "say \"x\"", "two\r\nlines", "flour"];
        let lines = names.map(|name| counted(name, 1));
        let text = shopping_csv(&lines, cad());
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let read: Vec<String> =
            reader.records().map(|record| record.expect("a record")[0].to_owned()).collect();
        assert_eq!(read.len(), names.len());
        for (name, read) in names.iter().zip(&read) {
            assert!(!read.starts_with(['=', '+', '-', '@', '\t', '\r']), "{read:?}");
            assert_eq!(read.strip_prefix('\'').unwrap_or(read), *name);
        }
    }
}
