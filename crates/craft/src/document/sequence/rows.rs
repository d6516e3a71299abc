//! From the sections of a design to its rows: what is wet joins its base.

use timing::{BlockRow, RowSection, WetLimit, block_row};

use super::DesignEntry;
use crate::document::{
    error::BadValue,
    ticks::{Ids, MOST_TICKS, circle, circle_words, fill, in_range, shown, whole},
};

/// Longest pass in ticks.
const MOST_ROW: i64 = 1_000_000_000;

/// Sections of one design that are worked together, over all its copies.
pub(super) struct Row {
    pub(super) design: usize,
    /// The sections by their places, in the order they are worked.
    pub(super) sections: Vec<usize>,
    /// The bag of each.
    pub(super) bags: Vec<usize>,
    pub(super) layout: BlockRow,
}

/// Two sections and a time between them.
#[derive(Clone, Copy)]
pub(super) struct Pair {
    pub(super) a: usize,
    pub(super) b: usize,
    pub(super) ticks: i64,
}

/// A design, checked.
pub(super) struct Design {
    pub(super) adjacent: Vec<Pair>,
    pub(super) overlay: Vec<Pair>,
    pub(super) rows: Vec<Row>,
}

/// Checks a design and lays out its rows, in the order of their first sections.
pub(super) fn design(
    place: usize,
    entry: &DesignEntry,
    bags: &Ids<'_>,
    wet_swap: i64,
) -> Result<Design, BadValue> {
    whole("copies", entry.copies, 1, 2000)?;
    fill("sections", "section", entry.sections.len(), super::compile::MOST_SECTIONS)?;
    let ids = Ids::new("sections", "section", entry.sections.iter().map(|one| one.id.as_str()))?;
    let mut worked = Vec::with_capacity(entry.sections.len());
    for (at, section) in entry.sections.iter().enumerate() {
        let refused = |bad: BadValue| bad.within("sections", at);
        let per_copy = whole("per_copy", section.per_copy, 1, MOST_TICKS).map_err(refused)?;
        let bag = bags.find(&section.bag).map_err(|words| refused(BadValue::new("bag", words)))?;
        worked.push(RowSection { bag, per_copy });
    }
    let adjacent = pairs("adjacent", &entry.adjacent, &ids)?;
    let overlay = pairs("overlay", &entry.overlay, &ids)?;
    let wet = pairs("wet", &entry.wet, &ids)?;
    check_apart(entry, &wet, [("adjacent", &adjacent), ("overlay", &overlay)])?;
    let waits: Vec<_> = wet.iter().map(|pair| (pair.a, pair.b)).collect();
    if let Some(circle) = circle(worked.len(), &waits) {
        return Err(BadValue::new(
            "wet",
            circle_words(&circle, |one| shown(&entry.sections[one].id)),
        ));
    }
    let rows = groups(worked.len(), &wet)
        .into_iter()
        .map(|sections| row(place, entry, sections, &worked, &wet, wet_swap))
        .collect::<Result<_, _>>()?;
    Ok(Design { adjacent, overlay, rows })
}

fn pairs(
    list: &'static str,
    entries: &[(String, String, i64)],
    ids: &Ids<'_>,
) -> Result<Vec<Pair>, BadValue> {
    let pair = |(place, (a, b, ticks)): (usize, &(String, String, i64))| {
        let found = ids.pair(a, b).and_then(|(a, b)| Ok((a, b, in_range(*ticks, 0, MOST_TICKS)?)));
        found
            .map(|(a, b, ticks)| Pair { a, b, ticks })
            .map_err(|message| BadValue::at(list, place, message))
    };
    entries.iter().enumerate().map(pair).collect()
}

/// Refuses two sections of which one is to be wet in the other and dry before it.
fn check_apart(
    entry: &DesignEntry,
    wet: &[Pair],
    apart: [(&'static str, &Vec<Pair>); 2],
) -> Result<(), BadValue> {
    for (place, one) in wet.iter().enumerate() {
        for (list, pairs) in apart {
            let same = |pair: &Pair| {
                (pair.a, pair.b) == (one.a, one.b) || (pair.a, pair.b) == (one.b, one.a)
            };
            if let Some(at) = pairs.iter().position(same) {
                let [a, b] = [one.a, one.b].map(|section| shown(&entry.sections[section].id));
                let message = format!(
                    "{a} and {b} are worked wet into wet here and kept apart in {list}[{at}]; take one of the two out"
                );
                return Err(BadValue::at("wet", place, message));
            }
        }
    }
    Ok(())
}

/// Sections that hang together by being wet, in the order they are worked.
fn groups(n: usize, wet: &[Pair]) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..n).collect();
    for pair in wet {
        let (kept, joined) = (group[pair.a], group[pair.b]);
        group.iter_mut().filter(|one| **one == joined).for_each(|one| *one = kept);
    }
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut is_placed = vec![false; n];
    for root in (0..n).filter(|&one| wet.iter().all(|pair| pair.b != one)) {
        if is_placed[root] {
            continue;
        }
        let mut row = Vec::new();
        // A section comes as soon as all that it is wet on is there, the first listed first.
        let next = |is_placed: &[bool]| {
            (0..n).find(|&one| {
                group[one] == group[root]
                    && !is_placed[one]
                    && wet.iter().all(|pair| pair.b != one || is_placed[pair.a])
            })
        };
        while let Some(section) = next(&is_placed) {
            is_placed[section] = true;
            row.push(section);
        }
        groups.push(row);
    }
    groups
}

fn row(
    design: usize,
    entry: &DesignEntry,
    sections: Vec<usize>,
    worked: &[RowSection],
    wet: &[Pair],
    wet_swap: i64,
) -> Result<Row, BadValue> {
    let together: Vec<RowSection> = sections.iter().map(|&section| worked[section]).collect();
    let place = |section: usize| sections.iter().position(|&one| one == section);
    let limits: Vec<(usize, WetLimit)> = wet
        .iter()
        .enumerate()
        .filter_map(|(at, pair)| {
            Some((at, WetLimit { base: place(pair.a)?, over: place(pair.b)?, most: pair.ticks }))
        })
        .collect();
    let all: Vec<WetLimit> = limits.iter().map(|(_, limit)| *limit).collect();
    let layout = block_row(&together, entry.copies, wet_swap, &all);
    for (at, limit) in &limits {
        let alone = block_row(&together, entry.copies, wet_swap, &[*limit]);
        if !alone.keeps_limits() {
            let least = alone.visit(limit.over, 0).0 - alone.visit(limit.base, 0).1;
            let [base, over] =
                [limit.base, limit.over].map(|one| shown(&entry.sections[sections[one]].id));
            let message = format!(
                "{over} starts at least {least} ticks after the end of {base}, even one cookie at a time, and not {} at most; allow more, or let less lie between",
                limit.most
            );
            return Err(BadValue::at("wet", *at, message));
        }
    }
    if layout.duration() > MOST_ROW {
        let message = format!(
            "{} copies take {} ticks, beyond {MOST_ROW}; take longer ticks or fewer copies",
            entry.copies,
            layout.duration()
        );
        return Err(BadValue::new("per_copy", message).within("sections", sections[0]));
    }
    Ok(Row { design, bags: together.iter().map(|one| one.bag).collect(), sections, layout })
}
