//! What is kept on disk, checked on a real disk and on both databases.

mod chapters;
mod designs;
mod engine;
mod events;
mod kill;
mod opening;
mod order_folder;
mod orders;
mod revisions;
mod settings;
mod tenants;
