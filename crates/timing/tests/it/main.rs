//! Instances with proved optima, broken schedules, and laws.

mod broken;
mod instances;
mod laws;
