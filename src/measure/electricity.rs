//! Currents, powers and resistances.

/// The power a heating resistance gives at another voltage than its rated one, W: `P·(U/Ur)²`.
///
/// ```
/// assert_eq!(layrule::measure::electricity::power_at(400.0, 200.0, 100.0), 100.0);
/// ```
pub fn power_at(rated_power: f64, rated_voltage: f64, voltage: f64) -> f64 {
    rated_power * (voltage / rated_voltage).powi(2)
}

/// The resistance of several in parallel, ohm: `1/R = Σ 1/Ri`; nothing for none.
///
/// ```
/// assert_eq!(layrule::measure::electricity::in_parallel([60.0, 30.0].into_iter()), Some(20.0));
/// ```
pub fn in_parallel(resistances: impl Iterator<Item = f64>) -> Option<f64> {
    let conductance: f64 = resistances.map(f64::recip).sum();
    (conductance > 0.0).then(|| conductance.recip())
}
