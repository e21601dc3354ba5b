//! From a diagnosis to a job: what to replace, in what order, with which fluids, and how to prove it.
//!
//! * [`layout`]: an engine layout as a graph of steps; what must come off for what
//! * [`order`]: an order with few changes of engine state and tools
//! * [`repairs`]: the repairs to choose from and the bill of a set of them
//! * [`choice`]: the cheapest set, exactly
//! * [`chances`]: the chances the bill asks for
//! * [`fluids`]: the coolant sheet
//! * `reasons`: why each repair is in or out
//! * `supplies`: coolant, parts to buy, proof and calendar
//! * [`work`]: the steps, both ways
//! * [`sheet`]: the plan as a value
//! * [`mod@make`]: all of it together
//! * [`follow_up`]: the case that goes on after the repair

pub mod chances;
pub mod choice;
pub mod fluids;
pub mod follow_up;
pub mod layout;
pub mod make;
pub mod order;
mod reasons;
pub mod repairs;
pub mod sheet;
mod supplies;
pub mod work;

pub use make::{Input, Made, Options, PlanError, make};
pub use sheet::Plan;
