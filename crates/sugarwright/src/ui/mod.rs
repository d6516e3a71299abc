//! The parts pages are made of: functions with typed arguments, each one kind of thing.

mod bowl;
mod cookie;
mod days;
mod field;
mod note;
mod ruler;
mod sheet;
mod words;

use maud::{DOCTYPE, Markup, html};

pub(crate) use bowl::bowl;
pub(crate) use cookie::{PlanAddress, cookie, cookie_in_pass, shingle, sizes_css};
pub(crate) use days::{all_days, day_rows, is_around, night_bar};
pub(crate) use field::{choice, field, file_field};
pub(crate) use note::{Notes, notes, stops};
pub(crate) use papers::words::{listed, spoken, titled};
pub(crate) use ruler::{Scale, ruler, ruler_alone, screen_measure};
pub(crate) use sheet::{shapes, sheet, tray};
pub(crate) use words::{capital, counted, date, day_and_month, in_days, money, time};

use crate::web::assets;

/// The frame around a page.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Page<'a> {
    pub(crate) title: &'a str,
    /// The address of the page in the head's navigation it belongs to, or nothing.
    pub(crate) here: &'a str,
    /// Addresses of further style sheets.
    pub(crate) styles: &'a [String],
    /// Scripts of the page, by their path below the assets.
    pub(crate) scripts: &'a [&'a str],
    /// Whether it waits for a plan: without scripts it then loads itself again.
    pub(crate) waits: bool,
}

/// The pages of the head.
const PAGES: [(&str, &str); 7] = [
    ("/", "Orders"),
    ("/days", "Days"),
    ("/orders/new", "New order"),
    ("/thin", "Thin"),
    ("/gels", "Gels"),
    ("/measured", "Measured"),
    ("/kitchen", "Kitchen"),
];

/// Puts content into the frame.
pub(crate) fn page(page: &Page<'_>, content: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (page.title) " · sugarwright" }
                link rel="icon" type="image/svg+xml" href=(assets::address("icon/mark.svg"));
                @if page.waits { noscript { meta http-equiv="refresh" content="3"; } }
                @for style in assets::STYLES { link rel="stylesheet" href=(assets::address(style)); }
                @for style in page.styles { link rel="stylesheet" href=(style); }
                @for script in page.scripts {
                    script type="module" src=(assets::address(script)) {}
                }
            }
            body {
                a.skip href="#content" { "To the content" }
                div.page {
                    header.head {
                        a.mark href="/" { "sugarwright" }
                        nav aria-label="Pages" {
                            @for (address, name) in PAGES {
                                a href=(address) aria-current=[(address == page.here).then_some("page")] { (name) }
                            }
                        }
                    }
                    main id="content" tabindex="-1" { (content) }
                    footer.foot {
                        p { "sugarwright works on this machine alone and sends nothing anywhere." }
                    }
                }
            }
        }
    }
}
