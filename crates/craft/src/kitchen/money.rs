use quantity::{Money, Share};

use crate::order::Detail;

/// Wage, prices and rules of payment.
#[derive(Clone, Debug, PartialEq)]
pub struct MoneyRules {
    /// What an hour of the maker's work should bring.
    pub wage: Money,
    /// Overhead that each order carries: rent, permits, wear.
    pub overhead: Money,
    /// Share of ingredients that is spilled, sampled or spoiled.
    pub waste: Share,
    /// Price of a kilowatt-hour.
    pub energy: Money,
    /// Price of a dozen by detail.
    pub per_dozen: DetailPrices,
    /// Fewest cookies of an order.
    pub least_cookies: u32,
    /// Fewest cookies of one design.
    pub least_per_design: u32,
    /// Step to which a price is rounded up.
    pub step: Money,
    /// Share that holds the date.
    pub deposit: Share,
    /// Surcharge on a short-notice order.
    pub rush: Share,
    /// An order asked for fewer days ahead than this is a short-notice order.
    pub rush_days: u32,
    /// Days before the pickup on which the balance is due.
    pub balance_days: u32,
    /// Days before the pickup until which the order may change.
    pub changes_days: u32,
}

/// Price of a dozen by detail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DetailPrices {
    /// A base and nothing on it.
    pub plain: Money,
    /// A base with a few lines.
    pub simple: Money,
    /// A base with a second layer.
    pub dressed: Money,
    /// Several layers and colors.
    pub detailed: Money,
    /// Everything.
    pub elaborate: Money,
}

impl DetailPrices {
    /// Returns the price of a dozen at a detail.
    pub fn of(&self, detail: Detail) -> Money {
        match detail {
            Detail::Plain => self.plain,
            Detail::Simple => self.simple,
            Detail::Dressed => self.dressed,
            Detail::Detailed => self.detailed,
            Detail::Elaborate => self.elaborate,
        }
    }
}
