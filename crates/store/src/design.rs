//! Designs: a drawing, the artwork that was made of it, and the maker's choices.

use jiff::Timestamp;

use crate::{Changed, DatabaseError, DesignId, KitchenStore, Revision, column::text};

/// A design to be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewDesign {
    /// What the maker calls it.
    pub name: String,
    /// The drawing as it was given.
    pub source: Vec<u8>,
    /// What was read from the drawing.
    pub artwork: String,
    /// Text of its choices.
    pub choices: String,
}

/// A design without its drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Design {
    /// Its name in the database.
    pub id: DesignId,
    /// What the maker calls it.
    pub name: String,
    /// What was read from the drawing.
    pub artwork: String,
    /// Text of its choices.
    pub choices: String,
    /// The state it is in.
    pub revision: Revision,
}

impl KitchenStore {
    /// Keeps a design; until an order uses it, it is only held.
    ///
    /// # Errors
    /// The database refuses.
    pub async fn add_design(&self, design: &NewDesign) -> Result<DesignId, DatabaseError> {
        let id = DesignId::new();
        let mut write = self.store.write().await?;
        sqlx::query(
            "insert into design (kitchen_id, id, name, source, artwork, choices, created_at, revision)
             values ($1, $2, $3, $4, $5, $6, $7, $8)",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .bind(text("name of the design", &design.name)?)
        .bind(design.source.as_slice())
        .bind(text("artwork", &design.artwork)?)
        .bind(text("choices", &design.choices)?)
        .bind(timestamp(Timestamp::now()))
        .bind(Revision::FIRST.to_i64())
        .execute(&mut *write.transaction)
        .await?;
        write.commit(&self.id, Changed::Design(id.clone())).await?;
        Ok(id)
    }

    /// Returns a design.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn design(&self, id: &DesignId) -> Result<Option<Design>, DatabaseError> {
        let row: Option<(String, String, String, i64)> = sqlx::query_as(
            "select name, artwork, choices, revision from design where kitchen_id = $1 and id = $2",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .fetch_optional(self.store.pool())
        .await?;
        Ok(row.map(|(name, artwork, choices, revision)| {
            let revision = Revision::from_i64(revision);
            Design { id: id.clone(), name, artwork, choices, revision }
        }))
    }

    /// Returns the drawing of a design as it was given.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn design_source(&self, id: &DesignId) -> Result<Option<Vec<u8>>, DatabaseError> {
        Ok(sqlx::query_scalar("select source from design where kitchen_id = $1 and id = $2")
            .bind(self.id.as_str())
            .bind(id.as_str())
            .fetch_optional(self.store.pool())
            .await?)
    }

    /// Saves the choices of a design over those that were seen.
    ///
    /// # Errors
    /// The design was changed meanwhile or is not there, or the database refuses.
    pub async fn save_choices(
        &self,
        id: &DesignId,
        choices: &str,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        let mut write = self.store.write().await?;
        let revision: Option<i64> = sqlx::query_scalar(
            "update design set choices = $4, revision = revision + 1
             where kitchen_id = $1 and id = $2 and revision = $3 returning revision",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .bind(seen.to_i64())
        .bind(text("choices", choices)?)
        .fetch_optional(&mut *write.transaction)
        .await?;
        match revision {
            Some(revision) => {
                write.commit(&self.id, Changed::Design(id.clone())).await?;
                Ok(Revision::from_i64(revision))
            }
            None => {
                drop(write);
                Err(match self.design(id).await? {
                    Some(_) => DatabaseError::Stale { what: "design" },
                    None => DatabaseError::Missing { what: "design", id: id.to_string() },
                })
            }
        }
    }

    /// Removes the designs that were kept before a moment and that no order uses, and returns how many.
    ///
    /// # Errors
    /// The database refuses.
    pub async fn sweep_designs(&self, older_than: Timestamp) -> Result<u64, DatabaseError> {
        let mut write = self.store.write().await?;
        let swept = sqlx::query(
            "delete from design where kitchen_id = $1 and created_at < $2 and not exists (
                 select 1 from order_design
                 where order_design.kitchen_id = design.kitchen_id
                     and order_design.design_id = design.id
             )",
        )
        .bind(self.id.as_str())
        .bind(timestamp(older_than))
        .execute(&mut *write.transaction)
        .await;
        match swept {
            Ok(swept) => {
                write.commit_unseen().await?;
                Ok(swept.rows_affected())
            }
            // An order has just taken one of them; the next sweep finds the others.
            Err(sqlx::Error::Database(error)) if error.is_foreign_key_violation() => Ok(0),
            Err(error) => Err(error.into()),
        }
    }
}

/// A moment such that later ones are later texts.
fn timestamp(moment: Timestamp) -> String {
    format!("{moment:.3}")
}
