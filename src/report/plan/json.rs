//! A plan for programs: the plan itself.

use serde_json::Value;

use crate::plan::Plan;

/// The plan as JSON, in the shape of [`Plan`].
pub fn json(plan: &Plan) -> Value {
    // Numbers, texts and lists only: nothing in a plan can fail to become JSON.
    serde_json::to_value(plan).unwrap_or(Value::Null)
}
