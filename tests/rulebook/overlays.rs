//! Folders laid over the shipped book, and what they say they changed.

use weephole::rulebook::{Kind, RuleBook};

use super::bench_book::{folder, shown, told, weephole};

/// The shipped book with a folder over it; the folder's name is taken out of what it says.
fn over(files: &[(&str, &str)]) -> (RuleBook, Vec<String>) {
    let files: Vec<(String, &str)> =
        files.iter().map(|(path, text)| (format!("own/{path}"), *text)).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), *text)).collect();
    let top = folder(|_, text| text.to_owned(), &files);
    let own = top.path().join("own");
    let book = RuleBook::load(std::slice::from_ref(&own)).unwrap_or_else(|faults| panic!("{faults}"));
    let said = book.laid_over.iter().map(|said| said.replace(&own.display().to_string(), "own")).collect();
    (book, said)
}

const NEW: &str = "failures:
  pump-drain-leaking:
    part: water-pump
    name: pump drain plug leaking
    customer: The plug in the pump leaks.
    if-left: The coolant runs out.
    base: 2
    source: seen twice at the sluice
    leads-to: {leak-outside: mostly}
    shows: {puddle-front: usually}
    urgency: soon
    repair: {do: Renew the plug., minutes: [10, 20]}
";

#[test]
fn a_new_entry_is_added() {
    let (book, said) = over(&[("mine.yaml", NEW)]);
    assert_eq!(said, ["own/mine.yaml adds the failure `pump-drain-leaking`"]);
    assert_eq!(book.kind_of("pump-drain-leaking"), Some(Kind::Failure));
    assert_eq!(book.links_from("pump-drain-leaking").count(), 2);
    assert!(book.links_to("puddle-front").any(|link| link.from == "pump-drain-leaking"));
}

#[test]
fn an_entry_stated_anew_replaces_the_whole_one_and_keeps_its_place() {
    let shipped = RuleBook::shipped();
    let text = "symptoms:
  grinding-noise: {name: growl, ask: Does it growl?, notice: A growl., words: [growl], customer: It growls., background: 0.3}
";
    let (book, said) = over(&[("mine.yaml", text)]);
    assert_eq!(said, ["own/mine.yaml replaces the symptom `grinding-noise`"]);
    assert_eq!(book.symptoms["grinding-noise"].name, "growl");
    assert_eq!(book.symptoms.keys().collect::<Vec<_>>(), shipped.symptoms.keys().collect::<Vec<_>>());
    assert_eq!(book.links_to("grinding-noise").count(), shipped.links_to("grinding-noise").count());
}

#[test]
fn one_link_is_changed_added_or_taken_out() {
    let text = "change:
  pump-bearing-worn:
    base: 30
    shows: {grinding-noise: 0.9, fan-scrape: never, sweet-smell-inside: rarely}
    source: 40 pumps looked at
";
    let (book, said) = over(&[("mine.yaml", text)]);
    let weight = |to: &str| {
        book.links_from("pump-bearing-worn").find(|l| l.to.to_string() == to).map(|l| l.weight.value)
    };
    assert_eq!(weight("grinding-noise"), Some(0.9));
    assert_eq!(weight("fan-scrape"), None);
    assert_eq!(weight("sweet-smell-inside"), Some(0.05));
    assert!((book.failures["pump-bearing-worn"].base - 30.0).abs() < 1e-12);
    assert!(book.failures["pump-bearing-worn"].source.ends_with("; changed: 40 pumps looked at"));
    let told = said.join("\n");
    assert!(told.contains("changes the failure `pump-bearing-worn`: base "), "{told}");
    assert!(told.contains("shows `grinding-noise` usually -> 0.9"), "{told}");
    assert!(told.contains("shows `sweet-smell-inside` none -> rarely"), "{told}");
    let link = book.links_from("pump-bearing-worn").find(|l| l.to.to_string() == "grinding-noise").unwrap();
    assert_eq!(link.weight.source.as_deref(), Some("40 pumps looked at"));
    assert_eq!(book.sources[link.place.source].path, "mine.yaml");
}

#[test]
fn a_link_is_changed_where_it_is_stated_even_from_its_other_end() {
    let shipped = RuleBook::shipped();
    // Stated by the failure under `raised-by`; changed here from the history fact's side.
    let stated = shipped
        .statements()
        .find(|s| s.list == weephole::rulebook::LinkList::RaisedBy && shipped.history.contains_key(s.other))
        .map(|s| (s.other.to_owned(), s.owner.to_owned()))
        .unwrap();
    let text = format!("change:\n  {}:\n    leads-to: {{{}: 0.123}}\n", stated.0, stated.1);
    let (book, _) = over(&[("mine.yaml", &text)]);
    let links: Vec<f64> =
        book.links_from(&stated.0).filter(|l| l.to.to_string() == stated.1).map(|l| l.weight.value).collect();
    assert_eq!(links, [0.123]);
}

#[test]
fn what_is_taken_out_takes_its_links_with_it() {
    let shipped = RuleBook::shipped();
    let count = shipped.statements().filter(|s| s.other == "fan-scrape").count();
    let (book, said) = over(&[("mine.yaml", "remove: [fan-scrape, cases/fan-blade-bent]\n")]);
    assert_eq!(book.kind_of("fan-scrape"), None);
    assert!(!book.cases.contains_key("fan-blade-bent"));
    assert_eq!(book.links_to("fan-scrape").count(), 0);
    assert!(
        said[0].contains(&format!("takes out the symptom `fan-scrape`, and the {count} links to it")),
        "{said:?}"
    );
}

#[test]
fn a_part_taken_out_from_under_its_failures_is_a_fault() {
    let top = folder(|_, text| text.to_owned(), &[("own/mine.yaml", "remove: [viscous-clutch]\n")]);
    let faults = RuleBook::load(&[top.path().join("own")]).unwrap_err();
    assert!(faults.list.iter().all(|fault| fault.code.name == "unknown-id"), "{faults}");
    assert!(faults.list.len() >= 2);
}

#[test]
fn outcomes_that_an_upper_check_no_longer_has_take_their_links_with_them() {
    let text = "checks:
  look-weep-hole:
    name: look at the weep hole
    ask: Is it wet?
    customer: We looked.
    engine: cold
    minutes: 2
    steps: [Look.]
    normal: dry
    outcomes:
      wet: {say: it is wet, background: 0.01}
    source: common practice, no source
";
    let top = folder(|_, text| text.to_owned(), &[("own/mine.yaml", text)]);
    let inspection =
        weephole::rulebook::inspect(&[top.path().join("own")], weephole::rulebook::Below::Shipped);
    let said = inspection.book.laid_over.join("\n");
    assert!(said.contains("takes out `look-weep-hole/crusted`, and with it the link from "), "{said}");
    assert!(inspection.book.links_to("look-weep-hole/wet").count() > 0);
}

#[test]
fn the_upper_of_two_folders_wins() {
    let one = "change:\n  pump-bearing-worn: {base: 31}\n";
    let two = "change:\n  pump-bearing-worn: {base: 32}\n";
    let top = folder(|_, text| text.to_owned(), &[("one/a.yaml", one), ("two/a.yaml", two)]);
    let at = |name: &str| top.path().join(name);
    let book = RuleBook::load(&[at("one"), at("two")]).unwrap();
    assert!((book.failures["pump-bearing-worn"].base - 32.0).abs() < 1e-12);
    let book = RuleBook::load(&[at("two"), at("one")]).unwrap();
    assert!((book.failures["pump-bearing-worn"].base - 31.0).abs() < 1e-12);
}

#[test]
fn words_of_the_scale_can_be_laid_over() {
    let (book, said) = over(&[("book.yaml", "words:\n  usually: {is: 0.7, from: 0.6, to: 0.8}\n")]);
    assert_eq!(said, ["own/book.yaml replaces the weight word `usually`"]);
    let link = book.links.iter().find(|link| link.weight.word.as_deref() == Some("usually")).unwrap();
    assert!((link.weight.value - 0.7).abs() < 1e-12);
}

#[test]
fn the_users_own_folder_is_laid_over_without_being_named() {
    let own = "change:\n  pump-bearing-worn: {base: 31}\n";
    let top = folder(|_, text| text.to_owned(), &[("home/rules/mine.yaml", own)]);
    let page = told(weephole(top.path()).args(["rules", "show", "pump-bearing-worn"]));
    assert!(page.contains("base          31"), "{page}");
    assert!(page.contains("changes the failure `pump-bearing-worn`: base "), "{page}");
}

#[test]
fn a_wrong_folder_stops_every_command_with_the_faults() {
    let top = folder(|_, text| text.to_owned(), &[("own/mine.yaml", "remove: [fan-scrap]\n")]);
    let said = told(weephole(top.path()).args(["rules", "show", "fan-scrape", "--rules", "own"]));
    shown("a_wrong_folder_stops_every_command", &said);
}
