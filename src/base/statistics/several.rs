//! Several tests at once: how probable it is that one of them errs.
//!
//! Holm (1979), *A simple sequentially rejective multiple test procedure*, Scand. J. Statistics 6:65: of m probabilities in
//! order, number i from 1 is multiplied by m − i + 1, and none becomes less than one before it.

/// The probabilities for the number of comparisons, in their order.
#[must_use]
pub fn holm(probabilities: &[f64]) -> Vec<f64> {
    let mut order: Vec<(usize, f64)> = probabilities.iter().copied().enumerate().collect();
    order.sort_by(|(_, one), (_, other)| one.total_cmp(other));
    let mut adjusted = vec![1.0; probabilities.len()];
    let (mut least, mut left) = (0.0_f64, probabilities.len() as f64);
    for (number, probability) in order {
        least = least.max((probability * left).min(1.0));
        left -= 1.0;
        if let Some(place) = adjusted.get_mut(number) {
            *place = least;
        }
    }
    adjusted
}
