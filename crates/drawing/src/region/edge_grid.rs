//! Which edges lie near this point?
//!
//! The box around all edges is divided into about as many cells as there are edges; each cell knows the edges whose
//! boxes reach into it.

/// Edges by the cells they reach into.
#[derive(Clone, Debug)]
pub(crate) struct EdgeGrid {
    corner: [f64; 2],
    cell: f64,
    n_across: usize,
    n_down: usize,
    /// Where the edges of each cell begin in `edges`, and where the last end.
    starts: Vec<usize>,
    edges: Vec<usize>,
}

impl EdgeGrid {
    /// Sorts edges, given by their ends, into cells.
    pub(crate) fn new(edges: &[[[f64; 2]; 2]]) -> Self {
        let corners = || edges.iter().flatten();
        let least = |axis: usize| corners().map(|c| c[axis]).fold(f64::INFINITY, f64::min);
        let most = |axis: usize| corners().map(|c| c[axis]).fold(f64::NEG_INFINITY, f64::max);
        let corner = [least(0), least(1)];
        let size = [most(0) - corner[0], most(1) - corner[1]];
        if edges.is_empty() {
            return Self {
                corner: [0.0; 2],
                cell: 1.0,
                n_across: 0,
                n_down: 0,
                starts: vec![0],
                edges: Vec::new(),
            };
        }
        let n_edges = edges.len() as f64;
        // A long narrow box has its cells in one row.
        let cell =
            (size[0] * size[1] / n_edges).sqrt().max((size[0] + size[1]) / n_edges).max(1e-6);
        let n_cells = |axis: usize| (size[axis] / cell) as usize + 1;
        let (n_across, n_down) = (n_cells(0), n_cells(1));
        let mut grid =
            Self { corner, cell, n_across, n_down, starts: Vec::new(), edges: Vec::new() };
        let mut counts = vec![0_usize; n_across * n_down + 1];
        for edge in edges {
            grid.for_each_cell(edge, |cell| counts[cell + 1] += 1);
        }
        for at in 1..counts.len() {
            counts[at] += counts[at - 1];
        }
        let mut slots = vec![0; counts.last().copied().unwrap_or_default()];
        let mut next = counts.clone();
        for (index, edge) in edges.iter().enumerate() {
            grid.for_each_cell(edge, |cell| {
                slots[next[cell]] = index;
                next[cell] += 1;
            });
        }
        grid.starts = counts;
        grid.edges = slots;
        grid
    }

    /// Iterates over the edges that may come within `reach` of a point; an edge may come several times.
    pub(crate) fn near(&self, [x, y]: [f64; 2], reach: f64) -> impl Iterator<Item = usize> {
        let (columns, rows) = self.cells([x - reach, y - reach], [x + reach, y + reach]);
        rows.flat_map(move |row| {
            let row = row * self.n_across;
            let from = self.starts.get(row + columns.start).copied().unwrap_or_default();
            let to = self.starts.get(row + columns.end).copied().unwrap_or(from);
            self.edges.get(from..to).unwrap_or_default().iter().copied()
        })
    }

    /// Tells whether `reach` around a point takes in every edge.
    pub(crate) fn is_all_within(&self, [x, y]: [f64; 2], reach: f64) -> bool {
        let far = [self.n_across, self.n_down].map(|n| n as f64 * self.cell);
        x - reach <= self.corner[0]
            && y - reach <= self.corner[1]
            && x + reach >= self.corner[0] + far[0]
            && y + reach >= self.corner[1] + far[1]
    }

    fn for_each_cell(&self, [from, to]: &[[f64; 2]; 2], mut call: impl FnMut(usize)) {
        let low = [from[0].min(to[0]), from[1].min(to[1])];
        let high = [from[0].max(to[0]), from[1].max(to[1])];
        let (columns, rows) = self.cells(low, high);
        for row in rows {
            columns.clone().for_each(|column| call(row * self.n_across + column));
        }
    }

    /// Returns the columns and rows a box reaches into.
    fn cells(
        &self,
        low: [f64; 2],
        high: [f64; 2],
    ) -> (std::ops::Range<usize>, std::ops::Range<usize>) {
        let range = |axis: usize, n_cells: usize| {
            // Casts from a float keep within the range of the integer.
            let place = |value: f64| ((value - self.corner[axis]) / self.cell) as usize;
            let is_beside = high[axis] < self.corner[axis] || place(low[axis]) >= n_cells;
            if is_beside { 0..0 } else { place(low[axis])..(place(high[axis]) + 1).min(n_cells) }
        };
        (range(0, self.n_across), range(1, self.n_down))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_near_a_point_is_what_looking_at_every_edge_finds() {
        let mut chance = 7_u64;
        let mut number = || {
            chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (chance >> 40) as f64 / (1_u64 << 24) as f64 * 100.0
        };
        let edges: Vec<[[f64; 2]; 2]> = (0..300)
            .map(|_| {
                let (x, y) = (number(), number());
                [[x, y], [x + number() / 10.0, y - number() / 10.0]]
            })
            .collect();
        let grid = EdgeGrid::new(&edges);
        for _ in 0..200 {
            let (point, reach) = ([number() * 1.4 - 20.0, number() * 1.4 - 20.0], number() / 5.0);
            let near: Vec<usize> = grid.near(point, reach).collect();
            for (index, [from, to]) in edges.iter().enumerate() {
                let nearest = |axis: usize| {
                    point[axis].clamp(from[axis].min(to[axis]), from[axis].max(to[axis]))
                };
                let off = (nearest(0) - point[0]).hypot(nearest(1) - point[1]);
                assert!(off > reach || near.contains(&index), "{point:?} {reach} {index}");
            }
        }
        assert!(grid.is_all_within([50.0, 50.0], 80.0) && !grid.is_all_within([50.0, 50.0], 20.0));
    }

    #[test]
    fn nothing_is_near_where_there_are_no_edges() {
        let grid = EdgeGrid::new(&[]);
        assert_eq!(grid.near([0.0, 0.0], 10.0).count(), 0);
        let point = EdgeGrid::new(&[[[3.0, 3.0], [3.0, 3.0]]]);
        assert_eq!(point.near([0.0, 0.0], 5.0).collect::<Vec<_>>(), [0]);
    }
}
