//! Sets of variables as rows of bits.

/// Rows of bits, one row a variable or table.
#[derive(Debug)]
pub(super) struct Bits {
    words: usize,
    rows: Vec<u64>,
}

impl Bits {
    pub(super) fn new(rows: usize, len: usize) -> Self {
        let words = len.div_ceil(64);
        Self { words, rows: vec![0; words * rows] }
    }

    pub(super) fn row(&self, i: usize) -> &[u64] {
        &self.rows[i * self.words..(i + 1) * self.words]
    }

    pub(super) fn row_mut(&mut self, i: usize) -> &mut [u64] {
        &mut self.rows[i * self.words..(i + 1) * self.words]
    }

    pub(super) fn set(&mut self, i: usize, bit: usize) {
        put(self.row_mut(i), bit);
    }

    pub(super) fn clear(&mut self, i: usize, bit: usize) {
        remove(self.row_mut(i), bit);
    }
}

pub(super) fn has(row: &[u64], bit: usize) -> bool {
    row[bit / 64] >> (bit % 64) & 1 == 1
}

pub(super) fn put(row: &mut [u64], bit: usize) {
    row[bit / 64] |= 1 << (bit % 64);
}

pub(super) fn remove(row: &mut [u64], bit: usize) {
    row[bit / 64] &= !(1 << (bit % 64));
}

/// How many bits are set.
pub(super) fn count(row: impl Iterator<Item = u64>) -> u32 {
    row.map(u64::count_ones).sum()
}

/// The positions of the set bits.
pub(super) fn ones(row: &[u64]) -> impl Iterator<Item = usize> + '_ {
    row.iter().enumerate().flat_map(|(w, &word)| {
        std::iter::successors((word != 0).then_some(word), |&left| {
            let rest = left & (left - 1);
            (rest != 0).then_some(rest)
        })
        .map(move |left| w * 64 + left.trailing_zeros() as usize)
    })
}
