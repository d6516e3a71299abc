//! Other ways to cut the dough, each with what it comes to, and the choice of one.

use axum::{
    Form,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use craft::{cutting::CuttingStyle, document::plan::CuttingWayDocument};
use maud::{Markup, html};
use quantity::{Mass, Span};
use serde::Deserialize;
use store::Revision;

use crate::{
    desk::{Desk, OrderView},
    pages::{OrderOf, what_if::with_bench},
    show,
    ui::{capital, counted},
    web::AppError,
};

/// A way to cut as a form sends it.
#[derive(Deserialize)]
pub(super) struct Chosen {
    revision: i64,
    cutting: String,
}

/// Puts a way to cut into the order.
pub(super) async fn choose(
    State(desk): State<Desk>,
    OrderOf(id): OrderOf,
    Form(chosen): Form<Chosen>,
) -> Result<Response, AppError> {
    let stored = desk.store.order(&id).await?.ok_or(AppError::NotFound)?;
    let style: CuttingStyle = chosen.cutting.parse().map_err(|_| AppError::NotFound)?;
    match with_bench(stored, |order| order.bench.cutting = Some(style)) {
        Ok(changed) => {
            desk.store.save_order(&id, &changed, Revision::from_i64(chosen.revision)).await?;
            Ok(Redirect::to(&format!("/orders/{id}#cut")).into_response())
        }
        Err(error) => Ok((StatusCode::UNPROCESSABLE_ENTITY, error.to_string()).into_response()),
    }
}

/// What the other ways come to, beside the one that is taken.
pub(super) fn other_ways(order: &OrderView, ways: &[CuttingWayDocument]) -> Markup {
    let Some((taken, others)) = ways.split_first().filter(|(_, others)| !others.is_empty()) else {
        return html! {};
    };
    let measures = order.kitchen.units.measures;
    let mass = |g: f64| show::mass(Mass::g(g), measures);
    let cheapest = ways.iter().min_by_key(|way| way.cost_minor).map(|way| &way.cutting);
    html! {
        details.more {
            summary { "Other ways to cut" }
            p.small {
                "Now: " (name(taken)) "; " (figures(taken, &mass)) "."
                @if cheapest == Some(&taken.cutting) { " Dough and time paid together, nothing else that was tried costs less." }
            }
            p.small.soft { "Whole sheets leave a little dough to spare; just enough dough leaves none." }
            ul.twists {
                @for way in others {
                    li {
                        span {
                            (capital(&name(way))) ": " (figures(way, &mass)) "." br;
                            b { (difference(taken, way, &mass)) }
                            @if cheapest == Some(&way.cutting) { br; span.soft { "Dough and time paid together, this costs least." } }
                        }
                        form method="post" action={ "/orders/" (order.order.id) "/cutting" } {
                            input type="hidden" name="revision" value=(order.order.revision.to_i64());
                            input type="hidden" name="cutting" value=(way.cutting);
                            button.act type="submit" { "Cut it so" span.unseen { ": " (name(way)) } }
                        }
                    }
                }
            }
        }
    }
}

fn name(way: &CuttingWayDocument) -> String {
    match way.cutting.parse() {
        Ok(CuttingStyle::OneShape) if way.one_shape => "whole sheets, one shape on each".to_owned(),
        Ok(CuttingStyle::OneShape) => {
            "whole sheets that shapes share, since keeping them apart would cost a rolling"
                .to_owned()
        }
        Ok(CuttingStyle::Mixed) => "whole sheets, shapes mixed as they fit best".to_owned(),
        Ok(CuttingStyle::ToMeasure(0)) => "just enough dough, scraps not rolled".to_owned(),
        Ok(CuttingStyle::ToMeasure(1)) => "just enough dough, scraps rolled once".to_owned(),
        Ok(CuttingStyle::ToMeasure(n)) => {
            format!("just enough dough, scraps rolled up to {n} times")
        }
        Ok(CuttingStyle::Rows) => "straight rows placed by eye, scraps not rolled".to_owned(),
        Err(_) => way.cutting.clone(),
    }
}

/// "1.7 kg of dough, 3 sheets rolled and 1 from scraps, 50 min".
fn figures(way: &CuttingWayDocument, mass: &dyn Fn(f64) -> String) -> String {
    let mut parts = vec![format!("{} of dough", mass(way.mass_g))];
    if way.freezer_sheets > 0 {
        parts.push(format!("{} from the freezer", counted(way.freezer_sheets, "sheet", "sheets")));
    }
    let scraps = match way.rerolls {
        0 => String::new(),
        n => format!(" and {n} from scraps"),
    };
    parts.push(format!("{} rolled{scraps}", counted(way.fresh_sheets, "sheet", "sheets")));
    parts.push(show::span(Span::minutes(way.time_min)));
    parts.join(", ")
}

/// "300 g less dough, 1 rolling more, 12 min more".
fn difference(
    taken: &CuttingWayDocument,
    way: &CuttingWayDocument,
    mass: &dyn Fn(f64) -> String,
) -> String {
    let mut parts = Vec::new();
    let grams = way.mass_g.round() - taken.mass_g.round();
    if grams.abs() >= 1.0 {
        let more = if grams > 0.0 { "more" } else { "less" };
        parts.push(format!("{} {more} dough", mass(grams.abs())));
    }
    let rollings = |way: &CuttingWayDocument| way.fresh_sheets + way.rerolls;
    let n = rollings(way).abs_diff(rollings(taken));
    if n > 0 {
        let more = if rollings(way) > rollings(taken) { "more" } else { "less" };
        parts.push(format!("{} {more}", counted(n, "rolling", "rollings")));
    }
    let minutes = way.time_min.round() - taken.time_min.round();
    if minutes.abs() >= 1.0 {
        let more = if minutes > 0.0 { "more" } else { "less" };
        parts.push(format!("{} {more}", show::span(Span::minutes(minutes.abs()))));
    }
    let extras = way.extras_left_out.abs_diff(taken.extras_left_out);
    if extras > 0 {
        let more = if way.extras_left_out < taken.extras_left_out { "more" } else { "fewer" };
        parts.push(format!("{} {more}", counted(extras, "extra", "extras")));
    }
    if way.one_shape != taken.one_shape {
        parts.push(if way.one_shape { "one shape a sheet" } else { "shapes mixed" }.to_owned());
    }
    if parts.is_empty() {
        "the same in dough, rollings and time".to_owned()
    } else {
        parts.join(", ")
    }
}
