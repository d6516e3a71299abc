//! Closed forms, our own instances, broken layouts and laws.

mod areas;
mod broken;
mod counts;
mod instances;
mod laws;
mod rows;
mod rules;
mod strips;
mod turning;

use std::ops::ControlFlow;

use nesting::{Outline, SheetsPlan, SheetsRequest, plan_sheets};

/// Plans without listening.
fn planned(request: &SheetsRequest) -> SheetsPlan {
    plan_sheets(request, &mut |_| ControlFlow::Continue(())).expect("a plan")
}

/// A rectangle from the origin.
fn rectangle(width: f64, height: f64) -> Outline {
    vec![[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]
}
