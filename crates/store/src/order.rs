//! Orders.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use sqlx::{Row, any::AnyRow};

use crate::{
    Changed, DatabaseError, DesignId, KitchenStore, OrderEvent, OrderId, Revision,
    column::{self, parse, text},
    connect::Write,
};

/// What a list shows of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// What the maker calls it.
    pub title: String,
    /// Who ordered; empty if nobody is named.
    pub customer: String,
    /// Cookies of all designs.
    pub n_cookies: i64,
    /// When the first cookies are handed over, at the place of the kitchen.
    pub first_handover: DateTime,
    /// The time zone of the kitchen, as the IANA names it.
    pub time_zone: String,
    /// Whether the order is invented, for trying things out.
    pub invented: bool,
}

/// An order to be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewOrder {
    /// What a list shows of it.
    pub heading: Heading,
    /// Text of `order.toml`.
    pub brief: String,
    /// Its designs, by the names the brief calls them.
    pub designs: BTreeMap<String, DesignId>,
}

/// An order with all that belongs to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredOrder {
    /// Its name in the database.
    pub id: OrderId,
    /// What a list shows of it.
    pub heading: Heading,
    /// Text of `order.toml`.
    pub brief: String,
    /// Its designs, by the names the brief calls them.
    pub designs: BTreeMap<String, DesignId>,
    /// The state each of its designs is in, by the same names: it moves with the maker's choices.
    pub design_revisions: BTreeMap<String, Revision>,
    /// What happened to it, earliest first.
    pub events: Vec<OrderEvent>,
    /// The plan that was agreed on.
    pub kept_plan: Option<String>,
    /// The day it was removed.
    pub removed_on: Option<Date>,
    /// The day the last cookies were handed over.
    pub handed_over_on: Option<Date>,
    /// The state it is in.
    pub revision: Revision,
}

impl Heading {
    /// Reads the columns that are called as its fields.
    pub(crate) fn from_row(row: &AnyRow) -> Result<Self, DatabaseError> {
        Ok(Self {
            title: row.try_get("title")?,
            customer: row.try_get("customer")?,
            n_cookies: row.try_get("n_cookies")?,
            first_handover: parse("first_handover", row.try_get("first_handover")?)?,
            time_zone: row.try_get("time_zone")?,
            invented: row.try_get::<i64, _>("invented")? != 0,
        })
    }
}

/// Reads a day that may be missing.
pub(crate) fn day(row: &AnyRow, column: &str) -> Result<Option<Date>, DatabaseError> {
    row.try_get::<Option<&str>, _>(column)?.map(|text| parse(column, text)).transpose()
}

impl KitchenStore {
    /// Keeps an order.
    ///
    /// # Errors
    /// One of its designs is not there, or the database refuses.
    pub async fn add_order(&self, order: &NewOrder) -> Result<OrderId, DatabaseError> {
        let id = OrderId::new();
        let heading = &order.heading;
        let mut write = self.store.write().await?;
        sqlx::query(
            "insert into customer_order (
                 kitchen_id, id, revision,
                 title, customer, n_cookies, first_handover, time_zone, invented, brief
             )
             values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .bind(Revision::FIRST.to_i64())
        .bind(text("title", &heading.title)?)
        .bind(text("name of the customer", &heading.customer)?)
        .bind(heading.n_cookies)
        .bind(heading.first_handover.to_string())
        .bind(text("time zone", &heading.time_zone)?)
        .bind(i64::from(heading.invented))
        .bind(text("order", &order.brief)?)
        .execute(&mut *write.transaction)
        .await?;
        self.add_designs_of(&mut write, &id, &order.designs).await?;
        write.commit(&self.id, Changed::Order(id.clone())).await?;
        Ok(id)
    }

    /// Returns an order.
    ///
    /// # Errors
    /// The database could not be read.
    pub async fn order(&self, id: &OrderId) -> Result<Option<StoredOrder>, DatabaseError> {
        let mut read = self.store.read().await?;
        let row = sqlx::query(
            "select title, customer, n_cookies, first_handover, time_zone, invented,
                 brief, kept_plan, removed_on, handed_over_on, revision
             from customer_order where kitchen_id = $1 and id = $2",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .fetch_optional(&mut *read)
        .await?;
        let Some(row) = row else {
            return Ok(None);
        };
        let designs: Vec<(String, String, i64)> = sqlx::query_as(
            "select u.name, u.design_id, d.revision
             from order_design u
             join design d on d.kitchen_id = u.kitchen_id and d.id = u.design_id
             where u.kitchen_id = $1 and u.order_id = $2",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .fetch_all(&mut *read)
        .await?;
        let events = sqlx::query(
            "select id as event_id, happened_on, kind, amount_minor from order_event
             where kitchen_id = $1 and order_id = $2 order by happened_on, id",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .fetch_all(&mut *read)
        .await?;
        Ok(Some(StoredOrder {
            id: id.clone(),
            heading: Heading::from_row(&row)?,
            brief: row.try_get("brief")?,
            designs: designs
                .iter()
                .map(|(name, design, _)| {
                    Ok((name.clone(), column::id("design_id", design, DesignId::parse)?))
                })
                .collect::<Result<_, DatabaseError>>()?,
            design_revisions: designs
                .iter()
                .map(|(name, _, revision)| (name.clone(), Revision::from_i64(*revision)))
                .collect(),
            events: events.iter().map(OrderEvent::from_row).collect::<Result<_, _>>()?,
            kept_plan: row.try_get("kept_plan")?,
            removed_on: day(&row, "removed_on")?,
            handed_over_on: day(&row, "handed_over_on")?,
            revision: Revision::from_i64(row.try_get("revision")?),
        }))
    }

    /// Saves heading, brief and designs of an order over those that were seen.
    ///
    /// # Errors
    /// The order was changed meanwhile, it or one of its designs is not there, or the database refuses.
    pub async fn save_order(
        &self,
        id: &OrderId,
        order: &NewOrder,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        let heading = &order.heading;
        let mut write = self.store.write().await?;
        let revision: Option<i64> = sqlx::query_scalar(
            "update customer_order set revision = revision + 1,
                 title = $4, customer = $5, n_cookies = $6, first_handover = $7, time_zone = $8,
                 invented = $9, brief = $10
             where kitchen_id = $1 and id = $2 and revision = $3 returning revision",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .bind(seen.to_i64())
        .bind(text("title", &heading.title)?)
        .bind(text("name of the customer", &heading.customer)?)
        .bind(heading.n_cookies)
        .bind(heading.first_handover.to_string())
        .bind(text("time zone", &heading.time_zone)?)
        .bind(i64::from(heading.invented))
        .bind(text("order", &order.brief)?)
        .fetch_optional(&mut *write.transaction)
        .await?;
        if revision.is_some() {
            sqlx::query("delete from order_design where kitchen_id = $1 and order_id = $2")
                .bind(self.id.as_str())
                .bind(id.as_str())
                .execute(&mut *write.transaction)
                .await?;
            self.add_designs_of(&mut write, id, &order.designs).await?;
        }
        self.commit_order(write, id, revision).await
    }

    /// Removes an order from the open ones; it stays among the past ones.
    ///
    /// # Errors
    /// The order was changed meanwhile or is not there, or the database refuses.
    pub async fn remove_order(
        &self,
        id: &OrderId,
        on: Date,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        self.set_removed_on(id, Some(on), seen).await
    }

    /// Undoes the removal of an order.
    ///
    /// # Errors
    /// The order was changed meanwhile or is not there, or the database refuses.
    pub async fn put_back_order(
        &self,
        id: &OrderId,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        self.set_removed_on(id, None, seen).await
    }

    /// Notes the day an order was handed over; `None` undoes it.
    ///
    /// # Errors
    /// The order was changed meanwhile or is not there, or the database refuses.
    pub async fn hand_over_order(
        &self,
        id: &OrderId,
        on: Option<Date>,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        self.change_order(
            "update customer_order set handed_over_on = $4, revision = revision + 1
             where kitchen_id = $1 and id = $2 and revision = $3 returning revision",
            id,
            on.map(|day| day.to_string()).as_deref(),
            seen,
        )
        .await
    }

    /// Keeps the plan that was agreed on; `None` takes it away.
    ///
    /// # Errors
    /// The order was changed meanwhile or is not there, or the database refuses.
    pub async fn keep_plan(
        &self,
        id: &OrderId,
        plan: Option<&str>,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        self.change_order(
            "update customer_order set kept_plan = $4, revision = revision + 1
             where kitchen_id = $1 and id = $2 and revision = $3 returning revision",
            id,
            plan.map(|plan| text("plan", plan)).transpose()?,
            seen,
        )
        .await
    }

    async fn set_removed_on(
        &self,
        id: &OrderId,
        on: Option<Date>,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        self.change_order(
            "update customer_order set removed_on = $4, revision = revision + 1
             where kitchen_id = $1 and id = $2 and revision = $3 returning revision",
            id,
            on.map(|day| day.to_string()).as_deref(),
            seen,
        )
        .await
    }

    /// Runs a statement that sets one column to its fourth argument.
    async fn change_order(
        &self,
        statement: &'static str,
        id: &OrderId,
        value: Option<&str>,
        seen: Revision,
    ) -> Result<Revision, DatabaseError> {
        let mut write = self.store.write().await?;
        let revision = sqlx::query_scalar(statement)
            .bind(self.id.as_str())
            .bind(id.as_str())
            .bind(seen.to_i64())
            .bind(value)
            .fetch_optional(&mut *write.transaction)
            .await?;
        self.commit_order(write, id, revision).await
    }

    /// Ends a change of an order; without a new revision nothing was changed, and it says why.
    async fn commit_order(
        &self,
        mut write: Write,
        id: &OrderId,
        revision: Option<i64>,
    ) -> Result<Revision, DatabaseError> {
        if let Some(revision) = revision {
            write.commit(&self.id, Changed::Order(id.clone())).await?;
            return Ok(Revision::from_i64(revision));
        }
        let found: Option<i64> = sqlx::query_scalar(
            "select revision from customer_order where kitchen_id = $1 and id = $2",
        )
        .bind(self.id.as_str())
        .bind(id.as_str())
        .fetch_optional(&mut *write.transaction)
        .await?;
        Err(match found {
            Some(_) => DatabaseError::Stale { what: "order" },
            None => DatabaseError::Missing { what: "order", id: id.to_string() },
        })
    }

    async fn add_designs_of(
        &self,
        write: &mut Write,
        order: &OrderId,
        designs: &BTreeMap<String, DesignId>,
    ) -> Result<(), DatabaseError> {
        for (name, design) in designs {
            let added = sqlx::query(
                "insert into order_design (kitchen_id, order_id, name, design_id)
                 values ($1, $2, $3, $4)",
            )
            .bind(self.id.as_str())
            .bind(order.as_str())
            .bind(text("name of the design", name)?)
            .bind(design.as_str())
            .execute(&mut *write.transaction)
            .await;
            added.map_err(|error| {
                DatabaseError::missing_reference(error, "design", design.as_str())
            })?;
        }
        Ok(())
    }
}
