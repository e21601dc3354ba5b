//! Simulated vehicles for tests and benches.

use weephole::rulebook::entries::Vehicle;
use weephole::trial::{Contender, Settings};

/// One vehicle that runs hot at idle, every answer right.
pub fn hot_at_idle(vehicle: &Vehicle) -> Settings {
    Settings {
        runs: 1,
        contenders: vec![Contender::Worth],
        seed: 1,
        wrong: 0.0,
        complaint: Some("hot-at-idle".to_owned()),
        vehicles: vec![vehicle.clone()],
    }
}
