//! Chapters of plans that took long to compute, under a key that says what they were computed from.

use std::collections::BTreeSet;

use crate::{Changed, DatabaseError, KitchenStore, column::text};

/// Chapters removed in one transaction; others may write in between.
const N_REMOVED_AT_ONCE: usize = 100;

impl KitchenStore {
    /// Returns a chapter, if it is there.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn chapter(&self, name: &str, key: &str) -> Result<Option<String>, DatabaseError> {
        Ok(sqlx::query_scalar(
            "select document from chapter where kitchen_id = $1 and name = $2 and key = $3",
        )
        .bind(self.id.as_str())
        .bind(text("name of the chapter", name)?)
        .bind(text("key of the chapter", key)?)
        .fetch_optional(self.store.pool())
        .await?)
    }

    /// Returns all chapters of a name, whatever they were computed from.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn chapters(&self, name: &str) -> Result<Vec<String>, DatabaseError> {
        Ok(sqlx::query_scalar(
            "select document from chapter where kitchen_id = $1 and name = $2 order by key",
        )
        .bind(self.id.as_str())
        .bind(text("name of the chapter", name)?)
        .fetch_all(self.store.pool())
        .await?)
    }

    /// Keeps a chapter, in place of one that is there.
    ///
    /// # Errors
    /// The database refuses.
    pub async fn save_chapter(
        &self,
        name: &str,
        key: &str,
        document: &str,
    ) -> Result<(), DatabaseError> {
        let mut write = self.store.write().await?;
        sqlx::query(
            "insert into chapter (kitchen_id, name, key, document) values ($1, $2, $3, $4)
             on conflict (kitchen_id, name, key) do update set document = excluded.document",
        )
        .bind(self.id.as_str())
        .bind(text("name of the chapter", name)?)
        .bind(text("key of the chapter", key)?)
        .bind(text("chapter", document)?)
        .execute(&mut *write.transaction)
        .await?;
        write.commit(&self.id, Changed::Chapter).await
    }

    /// Keeps the chapters of these keys, removes the others of that name, and returns how many went.
    ///
    /// # Errors
    /// The database refuses.
    pub async fn keep_chapters(&self, name: &str, keys: &[String]) -> Result<u64, DatabaseError> {
        let kept: BTreeSet<&str> = keys.iter().map(String::as_str).collect();
        let found: Vec<String> =
            sqlx::query_scalar("select key from chapter where kitchen_id = $1 and name = $2")
                .bind(self.id.as_str())
                .bind(text("name of the chapter", name)?)
                .fetch_all(self.store.pool())
                .await?;
        let unneeded: Vec<&String> =
            found.iter().filter(|key| !kept.contains(key.as_str())).collect();

        let mut n_removed = 0;
        for some in unneeded.chunks(N_REMOVED_AT_ONCE) {
            let mut write = self.store.write().await?;
            for key in some {
                let removed = sqlx::query(
                    "delete from chapter where kitchen_id = $1 and name = $2 and key = $3",
                )
                .bind(self.id.as_str())
                .bind(name)
                .bind(key.as_str())
                .execute(&mut *write.transaction)
                .await?;
                n_removed += removed.rows_affected();
            }
            write.commit_unseen().await?;
        }
        Ok(n_removed)
    }
}
