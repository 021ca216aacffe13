//! The outline of a signal for a drawing.

use witnessmark::signal::{Column, Sampling, Signal, outline};

use super::{Samples, at, signal, window};

fn drawn(signal: Signal<Samples>, columns: usize) -> Vec<Option<(f64, f64)>> {
    let columns = outline(signal, window(0.0, 8.0), columns).unwrap();
    columns.into_iter().map(|column| column.map(|Column { least, greatest }| (least, greatest))).collect()
}

#[test]
fn a_line_and_steps_fill_the_columns_that_they_pass() {
    let samples = [(-2.0, 0), (2.0, 8), (6.0, 0)];
    let line = drawn(signal(Sampling::Linear, &samples), 4);
    assert_eq!(line, [Some((4.0, 8.0)), Some((4.0, 8.0)), Some((0.0, 4.0)), Some((0.0, 0.0))]);
    let steps = drawn(signal(Sampling::Held, &samples), 4);
    assert_eq!(steps, [Some((0.0, 0.0)), Some((0.0, 8.0)), Some((8.0, 8.0)), Some((0.0, 8.0))]);
}

#[test]
fn what_is_not_known_is_not_drawn() {
    let mut gap = signal(Sampling::Linear, &[(1.0, 1), (2.5, 2), (6.5, 2), (7.5, 3), (20.0, 50)]);
    gap.largest_gap = Some(at(3.0));
    let columns = drawn(gap, 8);
    assert_eq!(
        columns.iter().map(Option::is_some).collect::<Vec<_>>(),
        [false, true, true, false, false, false, true, true]
    );
    assert_eq!(drawn(signal(Sampling::Linear, &[(9.0, 1)]), 3), [None; 3]);
}

#[test]
fn a_drawing_has_bounds() {
    let samples = || signal(Sampling::Linear, &[(0.0, 1), (8.0, 3)]);
    assert_eq!(outline(samples(), window(0.0, 8.0), 0).unwrap(), []);
    assert_eq!(outline(samples(), window(0.0, 8.0), usize::MAX).unwrap().len(), 4096);
    let instant = outline(samples(), window(4.0, 4.0), 2).unwrap();
    assert_eq!(instant, [Some(Column { least: 2.0, greatest: 2.0 }), None]);
    assert_eq!(outline(samples(), window(8.0, 0.0), 2).unwrap(), [None, None]);
}
