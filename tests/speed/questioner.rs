//! The next question on the shipped book, every candidate weighed exactly: bar 15 ms at 12 answers.

use divan::Bencher;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use weephole::case::{Answer, Case, Shop, gather};
use weephole::graph::{self, CauseGraph, NodeKind};
use weephole::inference::Engine;
use weephole::questioner::{Offers, Question, Questioner, Strategy, all_questions};
use weephole::rulebook::RuleBook;
use weephole::trial::World;

use super::tenfold::ten_systems;
use super::trials::hot_at_idle;

/// A simulated pickup and its answers to the first questions of the book, `count` of them.
fn answered(book: &RuleBook, count: usize) -> (CauseGraph, Case) {
    let vehicle = book.vehicles["pickup"].clone();
    let graph = graph::build(book, &vehicle, None).expect("the shipped book has a graph");
    let settings = hot_at_idle(&vehicle);
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let world =
        World::draw(book, &graph, &vehicle, &settings, &mut random).expect("a hot pickup is not rare");
    let mut case = world.case();
    let open: Vec<Question> = all_questions(book, &graph, &case)
        .into_iter()
        .filter(|question| question.ask != world.complaint)
        .take(count - 1)
        .collect();
    for question in open {
        let answer = world.answer(&question).to_owned();
        case.put(Answer::said(&question.ask, &answer));
    }
    (graph, case)
}

/// Everything from the answers to the advice.
#[divan::bench(args = [1, 4, 12], sample_count = 10)]
fn next_question(bencher: Bencher, answers: usize) {
    let (book, engine, shop) = (RuleBook::shipped(), Engine::default(), Shop::default());
    let (graph, case) = answered(&book, answers);
    let questioner = Questioner::new(&book, &graph, &engine, &shop);
    bencher.bench(|| questioner.advise(&case, Strategy::Worth).expect("answers of one vehicle agree"));
}

/// Bar 1 s. The same twelve answers, with a book of ten systems that share what happens to the whole vehicle.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn ten_times_the_book_next_question(bencher: Bencher) {
    let (_, case) = answered(&RuleBook::shipped(), 12);
    let (book, engine, shop) = (ten_systems(), Engine::default(), Shop::default());
    let graph = graph::build(&book, &case.vehicle, None).expect("ten graphs with common roots");
    let questioner = Questioner::new(&book, &graph, &engine, &shop);
    bencher.bench(|| questioner.advise(&case, Strategy::Worth).expect("answers of one vehicle agree"));
}

/// The part of it that inference takes: the exact chance of every failure after every answer to
/// every open question.
#[divan::bench(args = [1, 4, 12], sample_count = 10)]
fn chances_alone(bencher: Bencher, answers: usize) {
    let (book, engine, shop) = (RuleBook::shipped(), Engine::default(), Shop::default());
    let (graph, case) = answered(&book, answers);
    let gathered = gather(&book, &graph, &case);
    let standing = weephole::case::standing(&book, &graph, &engine, &gathered.evidence).expect("they agree");
    let offers = Offers::of(&book, &graph, &shop, &case, &standing);
    let candidates: Vec<_> = offers.open.iter().map(|offer| offer.question.candidate()).collect();
    let hidden = graph.hidden();
    let failures: Vec<usize> =
        (0..hidden.len()).filter(|&at| graph.get(hidden[at]).kind == NodeKind::Failure).collect();
    bencher.bench(|| {
        let prepared = engine.prepare(graph.network(), &gathered.evidence, &hidden)?;
        prepared.candidates_on(&candidates, &failures)
    });
}
