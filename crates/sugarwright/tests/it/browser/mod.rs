//! The pages in a browser, as a person at a phone, a tablet or a laptop would use them.

mod driver;
mod journeys;
mod look;
mod served;
