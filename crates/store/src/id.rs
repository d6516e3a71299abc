//! Names of what is stored.

use std::fmt;

use uuid::Uuid;

/// Longer names are not ours: a UUID has 36 characters.
const LONGEST: usize = 64;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Makes a name nothing else has: a UUID of version 7, so that later ones sort later.
            #[expect(clippy::new_without_default, reason = "a default would be equal each time")]
            pub fn new() -> Self {
                Self(Uuid::now_v7().to_string())
            }

            /// Reads a name: 1 to 64 of `a` to `z`, `0` to `9` and `-`.
            pub fn parse(text: &str) -> Option<Self> {
                is_id(text).then(|| Self(text.to_owned()))
            }

            /// Returns the name as it is stored and as it stands in addresses.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

id! {
    /// One maker's kitchen; nothing stored is seen from another.
    KitchenId
}
id! {
    /// An order.
    OrderId
}
id! {
    /// A design.
    DesignId
}
id! {
    /// Something that happened to an order.
    EventId
}

impl KitchenId {
    /// Returns the only kitchen of a database that one maker keeps at home.
    pub fn home() -> Self {
        Self("home".to_owned())
    }
}

fn is_id(text: &str) -> bool {
    (1..=LONGEST).contains(&text.len())
        && text.bytes().all(|byte| matches!(byte, b'a'..=b'z' | b'0'..=b'9' | b'-'))
}

/// The state something stored was seen in; whoever changes it says which state that was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Revision(i64);

impl Revision {
    /// What something new has.
    pub(crate) const FIRST: Self = Self(1);

    /// Reads a revision back from a page.
    pub fn from_i64(number: i64) -> Self {
        Self(number)
    }

    /// Returns the number to put into a page.
    pub fn to_i64(self) -> i64 {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: bool) {
        assert_eq!(OrderId::parse(text).is_some(), expected, "{text:?}");
    }

    #[test]
    fn an_id_is_short_plain_text() {
        check("home", true);
        check("0190b0c5-7e5b-7cc1-8d9d-9f2d1f3a4b5c", true);
        check(&"a".repeat(64), true);
        check(&"a".repeat(65), false);
        check(&"a".repeat(10_000), false);
        check("", false);
        check("Home", false);
        check("a b", false);
        check("a'; drop table design; --", false);
        check("a\0b", false);
        check("a/b", false);
        check("ä", false);
    }

    #[test]
    fn new_ids_differ_sort_by_age_and_read_back() {
        let ids: Vec<_> = (0..1000).map(|_| OrderId::new()).collect();
        assert!(ids.is_sorted_by(|a, b| a < b));
        for id in ids {
            assert_eq!(OrderId::parse(id.as_str()), Some(id));
        }
    }
}
