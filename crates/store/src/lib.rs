//! What is kept on disk: the database of a kitchen; order folders that come in, plan folders that go out.
//!
//! The database is SQLite in a data folder, or PostgreSQL; everything in it hangs on one kitchen ([`KitchenStore`]).
//! An order folder holds `order.toml`, optionally `kitchen.toml`, and `designs/` with a drawing (`NAME.svg`, or `.png`, `.jpg`,
//! `.jpeg`, `.webp`) and the choices for it (`NAME.toml`).
//! A plan folder is written whole or not at all: into a temporary folder beside it, which is then renamed.
#![warn(missing_docs)]

mod archive;
mod chapter;
mod column;
mod connect;
mod data_folder;
mod design;
mod error;
mod event;
mod folder;
mod id;
mod kitchen;
mod order;
mod order_list;
mod watch;

pub use archive::{ArchiveError, read_order_zip, write_order_zip};
pub use connect::Store;
pub use design::{Design, NewDesign};
pub use error::{DatabaseError, Error};
pub use event::{EventKind, NewEvent, OrderEvent};
pub use folder::{File, OrderFolder, Replace, read_order_folder, write_folder};
pub use id::{DesignId, EventId, KitchenId, OrderId, Revision};
pub use kitchen::{KitchenStore, Settings};
pub use order::{Heading, NewOrder, StoredOrder};
pub use order_list::OrderRow;
pub use watch::{Change, Changed};
