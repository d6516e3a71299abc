//! What happened to an order.
//!
//! Events are facts: they are added and removed, never changed, and leave the revision of the order as it is.

use jiff::civil::Date;
use sqlx::{Row, any::AnyRow};

use crate::{
    Changed, DatabaseError, EventId, KitchenStore, OrderId,
    column::{damaged, id, parse},
};

/// What can happen to an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventKind {
    /// The customer asked for it.
    Asked,
    /// The maker named a price.
    Quoted,
    /// Both agreed.
    Agreed,
    /// The customer paid the deposit.
    DepositPaid,
    /// The customer paid the rest.
    BalancePaid,
    /// The customer confirmed what is written on the cookies.
    WordingConfirmed,
    /// Its dough was made.
    DoughMade,
    /// Its cookies were cut.
    CookiesCut,
    /// Its cookies were baked.
    CookiesBaked,
    /// Its icing was made.
    IcingMade,
    /// A session of decorating was done; the first such event is the first session.
    Decorated,
    /// Its cookies were packed.
    Packed,
}

impl EventKind {
    /// All kinds, with the names they are stored under.
    pub const NAMES: [(Self, &'static str); 12] = [
        (Self::Asked, "asked"),
        (Self::Quoted, "quoted"),
        (Self::Agreed, "agreed"),
        (Self::DepositPaid, "deposit_paid"),
        (Self::BalancePaid, "balance_paid"),
        (Self::WordingConfirmed, "wording_confirmed"),
        (Self::DoughMade, "dough_made"),
        (Self::CookiesCut, "cookies_cut"),
        (Self::CookiesBaked, "cookies_baked"),
        (Self::IcingMade, "icing_made"),
        (Self::Decorated, "decorated"),
        (Self::Packed, "packed"),
    ];

    /// Returns the name it is stored under.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(kind, _)| *kind == self).map_or("", |(_, name)| name)
    }

    /// Finds the kind of a name.
    pub fn by_name(name: &str) -> Option<Self> {
        Self::NAMES.iter().find(|(_, known)| *known == name).map(|(kind, _)| *kind)
    }
}

/// Something that happened, to be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewEvent {
    /// The day.
    pub on: Date,
    /// What it was.
    pub what: EventKind,
    /// The amount that was named or paid, in the smallest unit of the kitchen's currency.
    pub amount_minor: Option<i64>,
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderEvent {
    /// Its name in the database.
    pub id: EventId,
    /// The day.
    pub on: Date,
    /// What it was.
    pub what: EventKind,
    /// The amount that was named or paid, in the smallest unit of the kitchen's currency.
    pub amount_minor: Option<i64>,
}

impl OrderEvent {
    /// Reads the columns `event_id, happened_on, kind, amount_minor`.
    pub(crate) fn from_row(row: &AnyRow) -> Result<Self, DatabaseError> {
        let kind: &str = row.try_get("kind")?;
        Ok(Self {
            id: id("event_id", row.try_get("event_id")?, EventId::parse)?,
            on: parse("happened_on", row.try_get("happened_on")?)?,
            what: EventKind::by_name(kind)
                .ok_or_else(|| damaged("kind", kind, &"no kind of event"))?,
            amount_minor: row.try_get("amount_minor")?,
        })
    }
}

impl KitchenStore {
    /// Keeps what happened to an order.
    ///
    /// # Errors
    /// The order is not there, or the database refuses.
    pub async fn add_event(
        &self,
        order: &OrderId,
        event: &NewEvent,
    ) -> Result<EventId, DatabaseError> {
        let id = EventId::new();
        let mut write = self.store.write().await?;
        let added = sqlx::query(
            "insert into order_event (kitchen_id, id, order_id, happened_on, kind, amount_minor)
             values ($1, $2, $3, $4, $5, $6)",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .bind(order.as_str())
        .bind(event.on.to_string())
        .bind(event.what.name())
        .bind(event.amount_minor)
        .execute(&mut *write.transaction)
        .await;
        added.map_err(|error| DatabaseError::missing_reference(error, "order", order.as_str()))?;
        write.commit(&self.id, Changed::Order(order.clone())).await?;
        Ok(id)
    }

    /// Removes an event of an order, and tells whether it was there.
    ///
    /// # Errors
    /// The database refuses.
    pub async fn remove_event(
        &self,
        order: &OrderId,
        event: &EventId,
    ) -> Result<bool, DatabaseError> {
        let mut write = self.store.write().await?;
        let removed = sqlx::query(
            "delete from order_event where kitchen_id = $1 and order_id = $2 and id = $3",
        )
        .bind(self.id.as_str())
        .bind(order.as_str())
        .bind(event.as_str())
        .execute(&mut *write.transaction)
        .await?;
        let was_there = removed.rows_affected() > 0;
        if was_there {
            write.commit(&self.id, Changed::Order(order.clone())).await?;
        }
        Ok(was_there)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_found_by_its_name() {
        for (kind, name) in EventKind::NAMES {
            assert_eq!(kind.name(), name);
            assert_eq!(EventKind::by_name(name), Some(kind));
        }
        assert_eq!(EventKind::by_name(""), None);
    }
}
