//! What was learnt, as a page and as JSON.

use std::collections::BTreeSet;
use std::fmt::Write;

use serde_json::{Value, json};
use unicode_width::UnicodeWidthStr;

use super::style::{Style, plain, wrapped};
use crate::learn::book::Strength;
use crate::learn::scores::{Forecast, Parts, brier, calibration, log_score};
use crate::learn::{Confirmed, Fitted, Foretold, Parameter, Proposal, Verdict};

/// Columns of a page of text.
const WIDTH: usize = 98;

/// Bins of the calibration table.
const BINS: usize = 5;

/// What selection does to the numbers, said on every page.
pub const SELECTION: &str = "Only vehicles with a complaint come in, and only what somebody chose to ask or look at is known. So: the sign a \
     vehicle came in with is not counted for that sign's own numbers; a base means vehicles that come in, not vehicles on the \
     road; what was not looked at counts as unknown, never as good. Two things no arithmetic cures: if only the odd cases get \
     confirmed, and if what was found is noted but what was good is not (`confirm --not`), the numbers come out too high.";

/// Everything the page shows.
#[derive(Debug, Clone, Copy)]
pub struct Learning<'a> {
    /// The cases.
    pub confirmed: &'a Confirmed,
    /// What came out.
    pub fitted: &'a Fitted,
    /// A line for every number.
    pub proposals: &'a [Proposal],
    /// How well what was found is foretold with everything proposed.
    pub foretold: &'a Foretold,
    /// What the author's words count as.
    pub strength: Strength,
    /// Cases behind the pooled counts of other workshops.
    pub pooled_cases: usize,
}

impl Learning<'_> {
    /// What is proposed, the largest gain first.
    pub fn proposed(&self) -> Vec<&Proposal> {
        let mut proposed: Vec<&Proposal> =
            self.proposals.iter().filter(|proposal| proposal.verdict == Verdict::Better).collect();
        proposed.sort_by(|a, b| b.gain.total_cmp(&a.gain).then(a.parameter.cmp(&b.parameter)));
        proposed
    }

    fn parameter(&self, proposal: &Proposal) -> &Parameter {
        &self.confirmed.parameters[proposal.parameter]
    }

    /// One number in a sentence: old, new, range, how much bears on it.
    pub fn line(&self, proposal: &Proposal) -> String {
        let word = self.confirmed.words[proposal.parameter].as_ref();
        let parameter = self.parameter(proposal);
        format!(
            "{}: {}{} -> {} ({} to {}); it fired {:.1} of {:.1} times, {} cases",
            plain(&parameter.to_string()),
            number(parameter, proposal.old),
            word.map(|word| format!(" ({})", plain(word))).unwrap_or_default(),
            number(parameter, proposal.new),
            number(parameter, proposal.range.0),
            number(parameter, proposal.range.1),
            proposal.fired,
            proposal.chances,
            proposal.cases,
        )
    }

    fn count(&self, verdict: Verdict) -> usize {
        self.proposals.iter().filter(|proposal| proposal.verdict == verdict).count()
    }
}

/// A number as the rule book writes it: bases per 1,000, all others as chances.
pub fn number(parameter: &Parameter, chance: f64) -> String {
    if matches!(parameter, Parameter::Base(_)) {
        format!("{:.1}", chance * 1000.0)
    } else {
        format!("{chance:.3}")
    }
}

/// The page.
pub fn text(learning: &Learning, style: &impl Style) -> String {
    let mut page = String::new();
    let Learning { confirmed, fitted, .. } = learning;
    let cases = confirmed.sheets.len();
    let _ = writeln!(
        page,
        "{}",
        style.heading(&format!("Learning from {} confirmed {}", cases, plural(cases, "case")))
    );
    let pooled = learning.pooled_cases;
    let beside = if pooled > 0 {
        format!(" Counts of {pooled} cases of other workshops are added.")
    } else {
        String::new()
    };
    let remark = format!(
        "{} not confirmed.{beside} The author's word counts as {} cases for a weight, as {} vehicles for a base or background. \
         {} rounds{}.",
        confirmed.unconfirmed,
        learning.strength.weights,
        learning.strength.bases,
        fitted.log_likelihood.len() - 1,
        if fitted.settled { "" } else { ", not settled by then" }
    );
    let _ = writeln!(page, "{}\n", wrapped(&remark, WIDTH, 0));
    proposals(&mut page, learning, style);
    let kept = format!(
        "Kept as they are: {} that no case bears on, {} on which too few do, {} that the cases bear out, {} whose change does not \
         foretell the other cases better.",
        learning.count(Verdict::Unseen),
        learning.count(Verdict::TooFew),
        learning.count(Verdict::BorneOut),
        learning.count(Verdict::NoBetter),
    );
    let _ = writeln!(page, "{}\n", style.faint(&wrapped(&kept, WIDTH, 0)));
    page.push_str(&scores(learning.foretold, cases, style));
    let _ = writeln!(page, "{}", style.faint(&wrapped(SELECTION, WIDTH, 0)));
    page
}

fn proposals(page: &mut String, learning: &Learning, style: &impl Style) {
    let proposed = learning.proposed();
    if proposed.is_empty() {
        let _ = writeln!(page, "Nothing to propose.\n");
        return;
    }
    let rows: Vec<[String; 6]> = proposed
        .iter()
        .map(|proposal| {
            let parameter = learning.parameter(proposal);
            let word = learning.confirmed.words[proposal.parameter].as_deref().unwrap_or_default();
            [
                plain(&parameter.to_string()),
                format!("{} {}", number(parameter, proposal.old), plain(word)).trim_end().to_owned(),
                number(parameter, proposal.new),
                format!("{} to {}", number(parameter, proposal.range.0), number(parameter, proposal.range.1)),
                format!("{:.1} of {:.1}", proposal.fired, proposal.chances),
                proposal.cases.to_string(),
            ]
        })
        .collect();
    let head = ["number", "book", "learnt", "90 % range", "fired", "cases"].map(str::to_owned);
    let widths: Vec<usize> = (0..6)
        .map(|at| rows.iter().chain([&head]).map(|row| row[at].width()).max().unwrap_or_default())
        .collect();
    let line = |row: &[String; 6]| {
        let cells = row
            .iter()
            .zip(&widths)
            .map(|(cell, &width)| format!("{cell}{}", " ".repeat(width - cell.width())));
        cells.collect::<Vec<String>>().join("  ").trim_end().to_owned()
    };
    let _ = writeln!(page, "{}", style.heading(&line(&head)));
    for row in &rows {
        let _ = writeln!(page, "{}", line(row));
    }
    page.push('\n');
}

/// Scores and calibration, before and after.
pub fn scores(foretold: &Foretold, cases: usize, style: &impl Style) -> String {
    let mut page = String::new();
    let looked = foretold.before.len();
    let head = format!(
        "How well the answers foretell what was found ({looked} failures looked at in {cases} cases)"
    );
    let _ = writeln!(page, "{}", style.heading(&head));
    let (before, after) = (&foretold.before, &foretold.after);
    let _ = writeln!(page, "             book    learnt");
    let _ = writeln!(
        page,
        "log score  {:>6.4}    {:>6.4}   nats of surprise; lower is better",
        log_score(before),
        log_score(after)
    );
    let _ = writeln!(page, "Brier      {:>6.4}    {:>6.4}   lower is better", brier(before), brier(after));
    let _ =
        writeln!(page, "{}\n", style.faint("Each case is foretold by numbers learnt from the other cases."));
    for (name, forecasts) in [("book", before), ("learnt", after)] {
        let bins = calibration(forecasts, BINS);
        let _ = writeln!(page, "{name:<8}chance said   times   said   came true");
        for bin in &bins {
            let _ = writeln!(
                page,
                "        {:>3.0} to {:>3.0} %  {:>6}  {:>3.0} %       {:>3.0} %",
                bin.from * 100.0,
                bin.to * 100.0,
                bin.count,
                bin.chance * 100.0,
                bin.share * 100.0
            );
        }
        let off = Parts::of(&bins).calibration_error;
        let _ = writeln!(page, "        off by {:.1} points on average\n", off * 100.0);
    }
    page
}

fn plural(count: usize, noun: &str) -> String {
    if count == 1 { noun.to_owned() } else { format!("{noun}s") }
}

/// The same for programs. The shape is documented in docs/json.md.
pub fn json(learning: &Learning) -> Value {
    let Learning { confirmed, fitted, .. } = learning;
    let line = |proposal: &Proposal| {
        json!({
            "number": learning.parameter(proposal).to_string(),
            "old": proposal.old,
            "word": confirmed.words[proposal.parameter],
            "new": proposal.new,
            "range": [proposal.range.0, proposal.range.1],
            "fired": proposal.fired,
            "chances": proposal.chances,
            "cases": proposal.cases,
            "gain": proposal.gain,
        })
    };
    let score = |forecasts: &[Forecast]| {
        let bins = calibration(forecasts, BINS);
        let parts = Parts::of(&bins);
        json!({
            "log-score": log_score(forecasts),
            "brier": brier(forecasts),
            "calibration-error": parts.calibration_error,
            "calibration": bins.iter().map(|bin| json!({
                "from": bin.from, "to": bin.to, "count": bin.count, "chance": bin.chance, "share": bin.share,
            })).collect::<Vec<Value>>(),
        })
    };
    json!({
        "cases": confirmed.sheets.len(),
        "unconfirmed": confirmed.unconfirmed,
        "left-out": confirmed.left_out,
        "pooled-cases": learning.pooled_cases,
        "strength": { "weights": learning.strength.weights, "bases": learning.strength.bases },
        "rounds": fitted.log_likelihood.len() - 1,
        "settled": fitted.settled,
        "log-likelihood": { "before": fitted.log_likelihood.first(), "after": fitted.log_likelihood.last() },
        "proposals": learning.proposed().into_iter().map(line).collect::<Vec<Value>>(),
        "kept": {
            "unseen": learning.count(Verdict::Unseen),
            "too-few": learning.count(Verdict::TooFew),
            "borne-out": learning.count(Verdict::BorneOut),
            "no-better": learning.count(Verdict::NoBetter),
        },
        "looked-at": learning.foretold.before.len(),
        "before": score(&learning.foretold.before),
        "after": score(&learning.foretold.after),
        "selection": SELECTION,
    })
}

/// The numbers of everything proposed.
pub fn all_of(learning: &Learning) -> BTreeSet<usize> {
    learning.proposed().into_iter().map(|proposal| proposal.parameter).collect()
}
