//! Lists of orders: the open ones whole, the past ones page by page.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use sqlx::{Row, any::AnyRow};

use crate::{
    DatabaseError, Heading, KitchenStore, OrderEvent, OrderId, Revision, column::id, order::day,
};

/// An order in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderRow {
    /// Its name in the database.
    pub id: OrderId,
    /// What the list shows of it.
    pub heading: Heading,
    /// The day the last cookies were handed over.
    pub handed_over_on: Option<Date>,
    /// The day it was removed.
    pub removed_on: Option<Date>,
    /// What happened to it, earliest first.
    pub events: Vec<OrderEvent>,
    /// The state it is in.
    pub revision: Revision,
}

impl KitchenStore {
    /// Returns the orders that are neither handed over nor removed, the next hand-over first.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn open_orders(&self) -> Result<Vec<OrderRow>, DatabaseError> {
        let mut read = self.store.read().await?;
        let orders = sqlx::query(
            "select id, title, customer, n_cookies, first_handover, time_zone, invented,
                 removed_on, handed_over_on, revision
             from customer_order
             where kitchen_id = $1 and removed_on is null and handed_over_on is null
             order by first_handover, id",
        )
        .bind(self.id.as_str())
        .fetch_all(&mut *read)
        .await?;
        let events = sqlx::query(
            "select e.order_id, e.id as event_id, e.happened_on, e.kind, e.amount_minor
             from customer_order o cross join order_event e
             where e.kitchen_id = o.kitchen_id and e.order_id = o.id
                 and o.kitchen_id = $1 and o.removed_on is null and o.handed_over_on is null
             order by e.happened_on, e.id",
        )
        .bind(self.id.as_str())
        .fetch_all(&mut *read)
        .await?;
        rows(&orders, &events)
    }

    /// Returns at most `limit` orders that are handed over or removed, the latest hand-over first.
    ///
    /// The next page comes `before` the first hand-over and the id of the last order of this one.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn past_orders(
        &self,
        before: Option<(DateTime, OrderId)>,
        limit: u32,
    ) -> Result<Vec<OrderRow>, DatabaseError> {
        let statement = match before {
            None => {
                "select id, title, customer, n_cookies, first_handover, time_zone, invented,
                     removed_on, handed_over_on, revision
                 from customer_order
                 where kitchen_id = $1 and (removed_on is not null or handed_over_on is not null)
                 order by first_handover desc, id desc limit $2"
            }
            Some(_) => {
                "select id, title, customer, n_cookies, first_handover, time_zone, invented,
                     removed_on, handed_over_on, revision
                 from customer_order
                 where kitchen_id = $1 and (removed_on is not null or handed_over_on is not null)
                     and (first_handover, id) < ($3, $4)
                 order by first_handover desc, id desc limit $2"
            }
        };
        let mut query = sqlx::query(statement).bind(self.id.as_str()).bind(i64::from(limit));
        if let Some((first_handover, id)) = before {
            query = query.bind(first_handover.to_string()).bind(id.to_string());
        }
        let mut read = self.store.read().await?;
        let orders = query.fetch_all(&mut *read).await?;
        let (Some(latest), Some(earliest)) = (orders.first(), orders.last()) else {
            return Ok(Vec::new());
        };
        let events = sqlx::query(
            "select e.order_id, e.id as event_id, e.happened_on, e.kind, e.amount_minor
             from customer_order o cross join order_event e
             where e.kitchen_id = o.kitchen_id and e.order_id = o.id
                 and o.kitchen_id = $1
                 and (o.removed_on is not null or o.handed_over_on is not null)
                 and (o.first_handover, o.id) >= ($2, $3)
                 and (o.first_handover, o.id) <= ($4, $5)
             order by e.happened_on, e.id",
        )
        .bind(self.id.as_str())
        .bind(earliest.try_get::<&str, _>("first_handover")?)
        .bind(earliest.try_get::<&str, _>("id")?)
        .bind(latest.try_get::<&str, _>("first_handover")?)
        .bind(latest.try_get::<&str, _>("id")?)
        .fetch_all(&mut *read)
        .await?;
        rows(&orders, &events)
    }
}

// In both lists `cross join` has SQLite find the orders first, which are few among all that were ever kept.

/// Gives each order its events.
fn rows(orders: &[AnyRow], events: &[AnyRow]) -> Result<Vec<OrderRow>, DatabaseError> {
    let mut events_of: BTreeMap<&str, Vec<OrderEvent>> = BTreeMap::new();
    for event in events {
        events_of.entry(event.try_get("order_id")?).or_default().push(OrderEvent::from_row(event)?);
    }
    let row = |order: &AnyRow| {
        let name = order.try_get("id")?;
        Ok(OrderRow {
            id: id("id", name, OrderId::parse)?,
            heading: Heading::from_row(order)?,
            handed_over_on: day(order, "handed_over_on")?,
            removed_on: day(order, "removed_on")?,
            events: events_of.remove(name).unwrap_or_default(),
            revision: Revision::from_i64(order.try_get("revision")?),
        })
    };
    orders.iter().map(row).collect()
}
