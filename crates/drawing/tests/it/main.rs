//! Laws of the crate, checked from outside.

mod area_law;
mod features;
mod fixtures;
mod hostile;
mod kept;
mod measures;
mod mutants;
mod outside;
mod pairs;
mod photo;
mod raster;
mod reading;
mod sections;
mod tracing;
