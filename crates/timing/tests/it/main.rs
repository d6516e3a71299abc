//! Instances with known optima, broken schedules, and laws.

mod broken;
mod documents;
mod fits;
mod gaps;
mod instances;
mod laws;
mod random;
mod referee;
mod rows;
