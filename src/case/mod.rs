//! A case: one vehicle, the answers given so far, and what came of it.
//!
//! [`file`] is the case as kept on disk, [`store`] the folder of cases, [`said`] what one answer means,
//! [`reading`] how a number becomes soft evidence, [`evidence`] all answers together, [`standing`] the
//! ranking they lead to, [`merge`] two states of one case put together, [`replay`] a known case of the book run
//! through all of it, [`severe`] what forbids driving or running, [`shop`] what an hour and a part cost here and
//! which tools are missing.

pub mod evidence;
pub mod file;
pub mod limits;
pub mod merge;
pub mod reading;
pub mod replay;
pub mod said;
pub mod severe;
pub mod shop;
pub mod standing;
pub mod store;

pub use evidence::{Gathered, Ignored, gather, history_alone};
pub use file::{Answer, Case, Finding, Repaired, Verdict};
pub use replay::{ReplayResult, replay};
pub use said::{Said, SaidError, interpret};
pub use severe::{Danger, dangers, severe_findings, severe_states};
pub use shop::{Shop, ShopError};
pub use standing::{Standing, Suspect, standing};
pub use store::{CaseStore, StoreError};
