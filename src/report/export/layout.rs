//! A layered layout (Sugiyama, Tagawa & Toda 1981): causes on the left, effects on the right, few crossings.

/// Times the layers are swept for a better order.
const SWEEPS: usize = 12;

/// Times the heights are drawn towards those of neighbours.
const SETTLINGS: usize = 8;

/// Where everything goes, in layers and heights; the picture decides how wide a layer is.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Layer of each node, 0 on the left.
    pub layer: Vec<usize>,
    /// Middle of each node from the top, in pixels.
    pub middle: Vec<f64>,
    /// For each link, the heights at which it passes the layers between its ends.
    pub passes: Vec<Vec<f64>>,
    /// Number of layers.
    pub layers: usize,
    /// Height of the whole, in pixels.
    pub height: f64,
}

/// Lays out nodes `0..count`, numbered causes first, of height `tall` with `gap` between.
pub fn lay_out(count: usize, links: &[(usize, usize)], tall: f64, gap: f64) -> Layout {
    let layer = layers(count, links);
    let depth = layer.iter().max().map_or(0, |&last| last + 1);
    // Nodes and, for every layer a link passes, a point of its own.
    let mut of_layer: Vec<Vec<usize>> = vec![Vec::new(); depth];
    (0..count).for_each(|node| of_layer[layer[node]].push(node));
    let mut total = count;
    let mut points: Vec<Vec<usize>> = Vec::with_capacity(links.len());
    let mut steps: Vec<(usize, usize)> = Vec::new();
    for &(from, to) in links {
        let mut way = Vec::new();
        let mut last = from;
        for passed in of_layer.iter_mut().take(layer[to]).skip(layer[from] + 1) {
            passed.push(total);
            way.push(total);
            steps.push((last, total));
            last = total;
            total += 1;
        }
        steps.push((last, to));
        points.push(way);
    }
    let mut before = vec![Vec::new(); total];
    let mut after = vec![Vec::new(); total];
    for &(from, to) in &steps {
        after[from].push(to);
        before[to].push(from);
    }
    order(&mut of_layer, &before, &after, total);
    let size = |point: usize| if point < count { tall } else { tall * 0.2 };
    let middle = heights(&of_layer, &before, &after, total, &|above, below| {
        f64::midpoint(size(above), size(below)) + if above < count || below < count { gap } else { gap * 0.4 }
    });
    let top = (0..total).map(|p| middle[p] - size(p) / 2.0).fold(f64::INFINITY, f64::min);
    let top = if top.is_finite() { top } else { 0.0 };
    let bottom = (0..total).map(|p| middle[p] + size(p) / 2.0).fold(top, f64::max);
    Layout {
        layer,
        middle: middle[..count].iter().map(|height| height - top).collect(),
        passes: points.iter().map(|way| way.iter().map(|&p| middle[p] - top).collect()).collect(),
        layers: depth,
        height: bottom - top,
    }
}

/// The longest way to each node; a root stands right before its nearest effect.
fn layers(count: usize, links: &[(usize, usize)]) -> Vec<usize> {
    let mut layer = vec![0_usize; count];
    let mut has_cause = vec![false; count];
    let mut sorted = links.to_vec();
    sorted.sort_by_key(|&(_, to)| to);
    for &(from, to) in &sorted {
        layer[to] = layer[to].max(layer[from] + 1);
        has_cause[to] = true;
    }
    for node in (0..count).filter(|&node| !has_cause[node]) {
        let nearest = links.iter().filter(|&&(from, _)| from == node).map(|&(_, to)| layer[to]).min();
        layer[node] = nearest.map_or(0, |layer| layer.saturating_sub(1));
    }
    layer
}

/// Orders each layer by the mean place of its neighbours, to and fro, and keeps the order with the fewest crossings.
fn order(layers: &mut [Vec<usize>], before: &[Vec<usize>], after: &[Vec<usize>], total: usize) {
    let mut place = vec![0; total];
    let number = |layers: &[Vec<usize>], place: &mut Vec<usize>| {
        for layer in layers {
            layer.iter().enumerate().for_each(|(at, &point)| place[point] = at);
        }
    };
    number(layers, &mut place);
    let mut best = layers.to_vec();
    let mut fewest = crossings(layers, after, &place);
    for sweep in 0..SWEEPS {
        let forth = sweep % 2 == 0;
        let depth = layers.len();
        for step in 0..depth {
            let at = if forth { step } else { depth - 1 - step };
            let near = if forth { before } else { after };
            let mut keyed: Vec<(f64, usize, usize)> = layers[at]
                .iter()
                .enumerate()
                .map(|(now, &point)| {
                    let around = &near[point];
                    let mean =
                        around.iter().map(|&p| place[p] as f64).sum::<f64>() / around.len().max(1) as f64;
                    (if around.is_empty() { now as f64 } else { mean }, now, point)
                })
                .collect();
            keyed.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            layers[at] = keyed.into_iter().map(|(_, _, point)| point).collect();
            layers[at].iter().enumerate().for_each(|(at, &point)| place[point] = at);
        }
        let count = crossings(layers, after, &place);
        if count < fewest {
            fewest = count;
            best = layers.to_vec();
        }
    }
    layers.clone_from_slice(&best);
}

/// Links that cross between neighbouring layers.
fn crossings(layers: &[Vec<usize>], after: &[Vec<usize>], place: &[usize]) -> u64 {
    let mut count = 0;
    for pair in layers.windows(2) {
        // How many links so far end at or before each place, as a Fenwick tree.
        let mut tree = vec![0_u64; pair[1].len() + 1];
        let mut drawn = 0;
        for &point in &pair[0] {
            let mut ends: Vec<usize> = after[point].iter().map(|&end| place[end]).collect();
            ends.sort_unstable();
            for &end in &ends {
                let (mut at, mut up_to) = (end + 1, 0);
                while at > 0 {
                    up_to += tree[at];
                    at &= at - 1;
                }
                count += drawn - up_to;
            }
            for end in ends {
                let mut at = end + 1;
                while at < tree.len() {
                    tree[at] += 1;
                    at += at & at.wrapping_neg();
                }
                drawn += 1;
            }
        }
    }
    count
}

/// Heights near those of the neighbours, order and distances kept.
fn heights(
    layers: &[Vec<usize>],
    before: &[Vec<usize>],
    after: &[Vec<usize>],
    total: usize,
    apart: &dyn Fn(usize, usize) -> f64,
) -> Vec<f64> {
    let mut middle = vec![0.0; total];
    for layer in layers {
        let mut at = 0.0;
        for (place, &point) in layer.iter().enumerate() {
            if place > 0 {
                at += apart(layer[place - 1], point);
            }
            middle[point] = at;
        }
    }
    for round in 0..SETTLINGS {
        for step in 0..layers.len() {
            let layer = &layers[if round % 2 == 0 { step } else { layers.len() - 1 - step }];
            let wish = |point: usize, middle: &[f64]| {
                let around: Vec<usize> = before[point].iter().chain(&after[point]).copied().collect();
                if around.is_empty() {
                    middle[point]
                } else {
                    around.iter().map(|&p| middle[p]).sum::<f64>() / around.len() as f64
                }
            };
            let wishes: Vec<f64> = layer.iter().map(|&point| wish(point, &middle)).collect();
            let gaps: Vec<f64> = layer.windows(2).map(|pair| apart(pair[0], pair[1])).collect();
            for (&point, height) in layer.iter().zip(nearest(&wishes, &gaps)) {
                middle[point] = height;
            }
        }
    }
    middle
}

/// The heights nearest to the wishes (least squares) that keep at least `gaps` between neighbours: isotonic regression by
/// pooling adjacent violators (Ayer and others 1955).
fn nearest(wishes: &[f64], gaps: &[f64]) -> Vec<f64> {
    let mut offset = 0.0;
    let mut offsets = Vec::with_capacity(wishes.len());
    // (sum of wishes, how many), each pool at one height.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (at, wish) in wishes.iter().enumerate() {
        if at > 0 {
            offset += gaps[at - 1];
        }
        offsets.push(offset);
        let mut pool = (wish - offset, 1);
        while let Some(&(sum, count)) = pools.last() {
            if sum / count as f64 <= pool.0 / pool.1 as f64 {
                break;
            }
            pools.pop();
            pool = (pool.0 + sum, pool.1 + count);
        }
        pools.push(pool);
    }
    let bases = pools.iter().flat_map(|&(sum, count)| std::iter::repeat_n(sum / count as f64, count));
    bases.zip(offsets).map(|(base, offset)| base + offset).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn causes_stand_left_of_their_effects() {
        let links = [(0, 2), (1, 2), (2, 3), (0, 4), (3, 4)];
        let layout = lay_out(5, &links, 40.0, 10.0);
        for (at, &(from, to)) in links.iter().enumerate() {
            assert!(layout.layer[from] < layout.layer[to]);
            assert_eq!(layout.passes[at].len(), layout.layer[to] - layout.layer[from] - 1);
        }
    }

    #[test]
    fn no_two_boxes_of_a_layer_overlap() {
        let links: Vec<(usize, usize)> =
            (0..12).flat_map(|a| [(a, 12 + a * 5 % 12), (a, 12 + (a * 7 + 3) % 12)]).collect();
        let layout = lay_out(24, &links, 40.0, 10.0);
        for a in 0..24 {
            for b in 0..a {
                let apart = (layout.middle[a] - layout.middle[b]).abs();
                assert!(
                    layout.layer[a] != layout.layer[b] || apart >= 50.0 - 1e-9,
                    "{a} and {b} are {apart} apart"
                );
            }
            assert!(layout.middle[a] >= 20.0 - 1e-9 && layout.middle[a] <= layout.height - 20.0 + 1e-9);
        }
    }

    #[test]
    fn crossings_that_can_be_avoided_are() {
        // Two straight pairs, stated crosswise.
        let mut layers = vec![vec![0, 1], vec![2, 3]];
        let after = vec![vec![3], vec![2], vec![], vec![]];
        let before = vec![vec![], vec![], vec![1], vec![0]];
        assert_eq!(crossings(&layers, &after, &[0, 1, 0, 1]), 1);
        order(&mut layers, &before, &after, 4);
        let mut place = [0; 4];
        for layer in &layers {
            layer.iter().enumerate().for_each(|(at, &p)| place[p] = at);
        }
        assert_eq!(crossings(&layers, &after, &place), 0);
    }

    #[test]
    fn heights_are_the_nearest_that_keep_their_distance() {
        assert_eq!(nearest(&[0.0, 100.0], &[10.0]), [0.0, 100.0]);
        assert_eq!(nearest(&[50.0, 50.0], &[10.0]), [45.0, 55.0]);
        assert_eq!(nearest(&[100.0, 0.0, 50.0], &[10.0, 10.0]), [40.0, 50.0, 60.0]);
        assert_eq!(nearest(&[], &[]), [0.0; 0]);
    }
}
