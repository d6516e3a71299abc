//! What is stored of one kitchen, and its settings.

use crate::{Changed, DatabaseError, KitchenId, Revision, Store, column::text};

/// All that is stored of one kitchen, and nothing of another.
#[derive(Clone, Debug)]
pub struct KitchenStore {
    pub(crate) store: Store,
    pub(crate) id: KitchenId,
}

/// The settings of a kitchen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Text of `kitchen.toml`.
    pub text: String,
    /// The state they are in.
    pub revision: Revision,
}

impl KitchenStore {
    /// Returns the settings, if there are any yet.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn settings(&self) -> Result<Option<Settings>, DatabaseError> {
        let row: Option<(String, i64)> =
            sqlx::query_as("select settings, revision from kitchen where kitchen_id = $1")
                .bind(self.id.as_str())
                .fetch_optional(self.store.pool())
                .await?;
        Ok(row.map(|(text, revision)| Settings { text, revision: Revision::from_i64(revision) }))
    }

    /// Saves the settings over those that were seen; `None` says that there were none.
    ///
    /// # Errors
    /// They were changed meanwhile, or the database refuses.
    pub async fn save_settings(
        &self,
        settings: &str,
        seen: Option<Revision>,
    ) -> Result<Revision, DatabaseError> {
        let statement = match seen {
            None => {
                "insert into kitchen (kitchen_id, settings, revision) values ($1, $2, $3)
                 on conflict do nothing returning revision"
            }
            Some(_) => {
                "update kitchen set settings = $2, revision = revision + 1
                 where kitchen_id = $1 and revision = $3 returning revision"
            }
        };
        let mut write = self.store.write().await?;
        let revision: Option<i64> = sqlx::query_scalar(statement)
            .bind(self.id.as_str())
            .bind(text("settings", settings)?)
            .bind(seen.unwrap_or(Revision::FIRST).to_i64())
            .fetch_optional(&mut *write.transaction)
            .await?;
        let revision = revision.ok_or(DatabaseError::Stale { what: "settings" })?;
        write.commit(&self.id, Changed::Settings).await?;
        Ok(Revision::from_i64(revision))
    }
}
