//! No drawing, however broken or ill-meant, may crash or stall the reader.

use drawing::{Error, Fonts, ReadOptions, import, read};
use proptest::prelude::{ProptestConfig, any, prop, proptest};
use quantity::Length;

use crate::fixtures::{DRAWINGS, fonts};

const OPTIONS: ReadOptions = ReadOptions { width: Some(Length::mm(80.0)), border: Length::mm(3.0) };

/// Reads to the end or to an error; the point is to come back.
fn read_through(svg: &[u8]) -> Result<usize, Error> {
    let artwork = import(svg, &fonts())?;
    let drawing = read(&artwork, &OPTIONS)?;
    let measured =
        drawing.shapes.iter().filter(|shape| shape.visible.smallest_width() >= Length::ZERO);
    Ok(measured.count())
}

fn svg(content: &str) -> String {
    format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 100 100\">{content}</svg>")
}

#[test]
fn nonsense_numbers_are_read_or_refused() {
    for value in [
        "NaN",
        "inf",
        "-1",
        "0",
        "1e30",
        "-1e38",
        "1e-30",
        "1e400",
        "",
        "x",
        "9".repeat(400).as_str(),
    ] {
        for content in [
            format!("<rect width=\"{value}\" height=\"10\"/>"),
            format!("<rect x=\"{value}\" width=\"10\" height=\"10\"/>"),
            format!("<circle r=\"{value}\"/>"),
            format!("<path d=\"M0 0L{value} 10L10 {value}Z\"/>"),
            format!(
                "<path d=\"M0 0C{value} 10 10 {value} 50 50\" stroke=\"red\" stroke-width=\"{value}\"/>"
            ),
            format!("<rect width=\"10\" height=\"10\" transform=\"scale({value})\"/>"),
            format!("<rect width=\"10\" height=\"10\" transform=\"matrix(1 2 3 {value} 5 6)\"/>"),
            format!(
                "<path d=\"M0 0H90\" stroke=\"red\" stroke-width=\"2\" stroke-dasharray=\"{value} 1\"/>"
            ),
            format!(
                "<path d=\"M0 0H90\" stroke=\"red\" stroke-dasharray=\"3 1\" stroke-dashoffset=\"{value}\"/>"
            ),
            format!("<path d=\"M0 0H90V1\" stroke=\"red\" stroke-miterlimit=\"{value}\"/>"),
            format!("<text font-size=\"{value}\" y=\"50\">Anna</text>"),
            format!("<text y=\"{value}\" letter-spacing=\"{value}\">Anna</text>"),
            format!("<rect width=\"50\" height=\"50\" opacity=\"{value}\"/>"),
        ] {
            let with_art = svg(&format!("{content}<rect width=\"5\" height=\"5\"/>"));
            assert!(read_through(with_art.as_bytes()).is_ok(), "{content}");
            _ = read_through(svg(&content).as_bytes());
        }
        let sizes = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{value}mm\" height=\"5mm\"><rect width=\"3\" height=\"3\"/></svg>"
        );
        if let Ok(artwork) = import(sizes.as_bytes(), &Fonts::none()) {
            _ = read(&artwork, &ReadOptions { width: None, ..OPTIONS });
        }
    }
}

#[test]
fn the_deepest_nesting_allowed_is_read_on_a_small_stack() {
    // 254 groups, the root and the shape.
    let nested = |open: &str| {
        svg(&(open.repeat(254) + "<rect width=\"9\" height=\"9\"/>" + &"</g>".repeat(254)))
    };
    assert_eq!(
        read_through(nested("<g opacity=\"0.99\" transform=\"translate(.1)\">").as_bytes()),
        Ok(1)
    );
    let clones: String = (1..120)
        .map(|level| format!("<g id=\"l{level}\"><use href=\"#l{}\"/></g>", level - 1))
        .collect();
    let chain = svg(&format!("<defs><rect id=\"l0\" width=\"9\" height=\"9\"/></defs>{clones}"));
    assert_eq!(read_through(chain.as_bytes()), Ok(119));
}

#[test]
fn a_scribble_is_left_out_and_two_crossing_hatchings_are_refused() {
    let scribble = |n: usize| {
        let corner = |index: usize| format!("{} {} ", index * 7919 % 97, index * 6101 % 89);
        (0..n).map(corner).collect::<String>()
    };
    let art =
        svg(&format!("<rect width=\"9\" height=\"9\"/><polygon points=\"{}\"/>", scribble(20_000)));
    assert_eq!(read_through(art.as_bytes()), Ok(1));
    let hatch = |n: usize, across: bool| -> String {
        (0..n)
            .map(|index| {
                let at = 100.0 * index as f64 / n as f64;
                if across { format!("M0 {at}H100v.01H0Z") } else { format!("M{at} 0V100h.01V0Z") }
            })
            .collect()
    };
    let art =
        svg(&format!("<path d=\"{}\"/><path d=\"{}\"/>", hatch(3000, true), hatch(3000, false)));
    assert_eq!(read_through(art.as_bytes()), Err(Error::TooIntricate));
}

#[test]
fn dashes_finer_than_dust_become_a_line() {
    let art =
        svg("<path d=\"M0 0H100V50\" stroke=\"red\" fill=\"none\" stroke-dasharray=\"0.000001\"/>");
    assert_eq!(read_through(art.as_bytes()), Ok(1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn mutated_drawings_are_read_or_refused(
        which in 0..DRAWINGS.len(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0..6_usize, any::<u8>()), 1..12),
    ) {
        let mut bytes = DRAWINGS[which].1.as_bytes().to_vec();
        for (at, kind, byte) in edits {
            let at = at.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => bytes[at] = b'0' + byte % 10,
                2 => _ = bytes.remove(at),
                3 => bytes.insert(at, b" -.e0#9<>\"/"[usize::from(byte) % 11]),
                4 => bytes.extend_from_within(at.saturating_sub(usize::from(byte))..at),
                _ => bytes.swap(at, usize::from(byte) % DRAWINGS[which].1.len().min(200)),
            }
            if bytes.is_empty() {
                break;
            }
        }
        _ = read_through(&bytes);
    }
}
