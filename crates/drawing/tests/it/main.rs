//! Laws of the crate, checked from outside.

mod area_law;
mod fixtures;
mod hostile;
mod kept;
mod measures;
mod raster;
mod reading;
