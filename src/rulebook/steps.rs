//! The steps of a layout together with those of the layouts it builds on.

use thiserror::Error;

use super::RuleBook;
use super::entries::{Entries, Job, Proof, Step, Watch};

/// Why layouts cannot be put together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum BuildError {
    /// A layout is named that the book does not have.
    #[error("there is no layout `{0}`")]
    Unknown(String),
    /// Layouts build on each other in a ring, spelled out.
    #[error("the layouts build on each other in a ring: {0}")]
    Ring(String),
}

/// A layout with everything it builds on: the last word on each step.
#[derive(Debug, Clone)]
pub struct Built<'a> {
    /// Every step with the layout that states it, those built on first.
    pub steps: Entries<(&'a str, &'a Step)>,
    /// The proofs of the nearest layout that has any.
    pub prove: &'a Entries<Proof>,
    /// The looks afterwards of the nearest layout that has any.
    pub watch: &'a Entries<Watch>,
}

impl RuleBook {
    /// A layout together with those it builds on.
    pub fn built(&self, layout: &str) -> Result<Built<'_>, BuildError> {
        self.build(layout, &mut Vec::new())
    }

    fn build<'a>(&'a self, layout: &str, trail: &mut Vec<String>) -> Result<Built<'a>, BuildError> {
        let Some((id, job)) = self.jobs.get_key_value(layout) else {
            return Err(BuildError::Unknown(layout.to_owned()));
        };
        let known = trail.iter().position(|above| above == layout);
        trail.push(layout.to_owned());
        if let Some(at) = known {
            return Err(BuildError::Ring(trail[at..].join(" -> ")));
        }
        let (mut prove, mut watch) = (&job.prove, &job.watch);
        let mut steps: Entries<(&str, &Step)> = Entries::new();
        for below in &job.builds_on {
            let base = self.build(below, trail)?;
            steps.extend(base.steps);
            prove = if prove.is_empty() { base.prove } else { prove };
            watch = if watch.is_empty() { base.watch } else { watch };
        }
        steps.extend(own(id, job));
        trail.pop();
        Ok(Built { steps, prove, watch })
    }
}

fn own<'a>(id: &'a str, job: &'a Job) -> impl Iterator<Item = (String, (&'a str, &'a Step))> {
    job.steps.iter().map(move |(name, step)| (name.clone(), (id, step)))
}
