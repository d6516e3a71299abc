//! The door for new orders: from a form, from an order folder as a zip, from the samples.
//!
//! Every drawing passes [`drawing::import`] here and nowhere else; what it understood is stored beside the source.

use std::collections::BTreeMap;

use craft::{
    document::{FileError, OrderDocument, read_choices, read_order},
    order::{Brief, BriefError, DesignFiles, read_brief},
};
use drawing::{
    Artwork,
    document::{read_artwork, write_artwork},
    identity::with_earlier_ids,
};
use store::{
    DatabaseError, Design, DesignId, Heading, KitchenStore, NewDesign, NewOrder, OrderFolder,
    OrderId, Revision,
};

use crate::fonts;

/// An order on its way in.
#[derive(Clone, Debug)]
pub(crate) struct Intake {
    pub(crate) order: OrderDocument,
    /// Drawings that are new, by name.
    pub(crate) drawings: BTreeMap<String, NewDrawing>,
    /// Drawings that are stored already, by name.
    pub(crate) stored: BTreeMap<String, DesignId>,
}

/// A drawing on its way in.
#[derive(Clone, Debug)]
pub(crate) struct NewDrawing {
    /// The bytes of its file.
    pub(crate) source: Vec<u8>,
    /// Text of the file with the maker's choices, or nothing.
    pub(crate) choices: String,
    /// The stored drawing it takes the place of: what is still there keeps its ids, and with them the maker's choices.
    pub(crate) earlier: Option<DesignId>,
}

/// Why an order was refused.
#[derive(Debug, thiserror::Error)]
pub(crate) enum IntakeError {
    #[error(transparent)]
    File(#[from] FileError),
    #[error("the drawing \"{name}\": {source}")]
    Drawing { name: String, source: drawing::Error },
    #[error(transparent)]
    Brief(#[from] BriefError),
    #[error("a drawing that was sent before is gone; choose its file again")]
    DrawingGone { name: String },
    #[error(transparent)]
    Database(#[from] DatabaseError),
}

impl Intake {
    pub(crate) fn new(order: OrderDocument) -> Self {
        Self { order, drawings: BTreeMap::new(), stored: BTreeMap::new() }
    }

    /// Takes an order folder; its kitchen is left aside, since the maker's own holds.
    pub(crate) fn from_folder(folder: OrderFolder) -> Result<Self, IntakeError> {
        let mut intake = Self::new(craft::document::read_order_document(&folder.order)?);
        for (name, source) in folder.drawings {
            let choices = folder.choices.get(&name).cloned().unwrap_or_default();
            intake.drawings.insert(name, NewDrawing { source, choices, earlier: None });
        }
        Ok(intake)
    }

    /// Stores the drawings that can be read, so that a refused form need not send them again.
    ///
    /// # Errors
    /// The first drawing that cannot be read; those before it are stored.
    pub(crate) async fn store_drawings(&mut self, store: &KitchenStore) -> Result<(), IntakeError> {
        while let Some((name, drawing)) = self.drawings.pop_first() {
            let NewDrawing { source, mut choices, earlier } = drawing;
            let earlier = match earlier {
                Some(id) => store.design(&id).await?,
                None => None,
            };
            if let Some(earlier) = &earlier
                && choices.is_empty()
            {
                choices.clone_from(&earlier.choices);
            }
            let artwork = import(source.clone(), earlier)
                .await
                .map_err(|source| IntakeError::Drawing { name: name.clone(), source })?;
            if !choices.is_empty() {
                read_choices(&choices, &format!("designs/{name}.toml"))?;
            }
            let artwork = write_artwork(&artwork);
            let design = NewDesign { name: name.clone(), source, artwork, choices };
            let id = store.add_design(&design).await?;
            self.stored.insert(name, id);
        }
        Ok(())
    }

    /// Checks the order with its drawings.
    async fn check(&self, store: &KitchenStore) -> Result<Brief, IntakeError> {
        let order = read_order(&self.order.to_toml())?;
        let mut files = DesignFiles::default();
        for (name, id) in &self.stored {
            let design = store.design(id).await?;
            let gone = || IntakeError::DrawingGone { name: name.clone() };
            let artwork = read_artwork(&design.ok_or_else(gone)?.artwork);
            files.artworks.insert(name.clone(), artwork.map_err(|_| gone())?);
        }
        Ok(read_brief(order, &files)?)
    }

    /// Stores a new order with its drawings.
    ///
    /// # Errors
    /// The order or a drawing was refused; no order is stored then.
    pub(crate) async fn store(mut self, store: &KitchenStore) -> Result<OrderId, IntakeError> {
        self.store_drawings(store).await?;
        let brief = self.check(store).await?;
        Ok(store.add_order(&self.new_order(&brief)).await?)
    }

    /// Stores a changed order in the place of what was `seen`.
    ///
    /// # Errors
    /// The order or a drawing was refused, or the order was changed meanwhile; it then stays as it is.
    pub(crate) async fn replace(
        mut self,
        store: &KitchenStore,
        id: &OrderId,
        seen: Revision,
    ) -> Result<(), IntakeError> {
        self.store_drawings(store).await?;
        let brief = self.check(store).await?;
        store.save_order(id, &self.new_order(&brief), seen).await?;
        Ok(())
    }

    fn new_order(&self, brief: &Brief) -> NewOrder {
        let order = &brief.order;
        let first = &order.first_handover().at;
        let wanted = order.designs();
        NewOrder {
            heading: Heading {
                title: order.title.clone(),
                customer: order.customer.clone(),
                n_cookies: i64::from(order.count()),
                first_handover: first.datetime(),
                time_zone: first.time_zone().iana_name().unwrap_or("UTC").to_owned(),
                invented: order.invented,
            },
            brief: self.order.to_toml(),
            designs: self
                .stored
                .iter()
                .filter(|(name, _)| wanted.contains(&name.as_str()))
                .map(|(name, id)| (name.clone(), id.clone()))
                .collect(),
        }
    }
}

/// Reads a drawing off the threads that answer pages; a later child process would stand here.
///
/// What is still there of an earlier version keeps its ids.
pub(crate) async fn import(
    source: Vec<u8>,
    earlier: Option<Design>,
) -> Result<Artwork, drawing::Error> {
    let read = tokio::task::spawn_blocking(move || {
        let artwork = drawing::import(&source, &fonts::fonts())?;
        // An earlier version that cannot be read any more has no ids to keep.
        match earlier.map(|earlier| read_artwork(&earlier.artwork)) {
            Some(Ok(earlier)) => with_earlier_ids(&artwork, &earlier).or(Ok(artwork)),
            Some(Err(_)) | None => Ok(artwork),
        }
    });
    // A panic of the reader is handed on: the page that asked shows it as an error of ours.
    read.await.unwrap_or_else(|panic| std::panic::resume_unwind(panic.into_panic()))
}
