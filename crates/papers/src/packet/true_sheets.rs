//! The dough sheets with their cuts at true size, to lay under the dough or to mark cuts by.

use craft::{
    document::plan::{PlanDocument, SheetDocument},
    kitchen::Kitchen,
};
use quantity::Length;

use super::{
    baking::numbered,
    drawn::{AROUND_OUTLINE_MM, true_sheet},
    files::Files,
    outlines::{Large, Outlines, in_parts},
};
use crate::{
    picture::sheet_name,
    words::{size, titled, turned_over},
};

pub(super) fn true_sheets(
    document: &PlanDocument,
    kitchen: &Kitchen,
    files: &mut Files,
) -> Outlines {
    let sheets = &document.cutting.sheets;
    let large = |(place, sheet): (usize, &SheetDocument)| {
        let SheetDocument { width_mm, length_mm, placements, .. } = sheet;
        let measured = size(Length::mm(*width_mm), Length::mm(*length_mm), kitchen.units.measures);
        let (content, numbers) = true_sheet(sheet, &document.designs);
        Large {
            content,
            numbers,
            corner: [-AROUND_OUTLINE_MM; 2],
            size_mm: [*width_mm, *length_mm].map(|mm| mm + 2.0 * AROUND_OUTLINE_MM),
            name: titled(&sheet_name(sheets, place)),
            words: [Some(measured), Some(numbered(placements)), turned_over(placements)]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join("; "),
        }
    };
    let all: Vec<Large> = sheets.iter().enumerate().map(large).collect();
    in_parts("Dough sheets at true size", &all, files)
}
