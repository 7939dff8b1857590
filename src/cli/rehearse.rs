//! `skimgate rehearse`: practice on a virtual mill.

mod known;

use super::context::CommandContext;
use super::failure::Failure;
use super::files;
use super::missing::shop_item;
use super::reporting::JsonArg;
use super::status::Status;
use crate::book::Book;
use crate::clock::{self, Clock, SystemClock};
use crate::diagnostics::Findings;
use crate::files::{ReadAs, ReadableBy, Replace, make_private, make_private_folder};
use crate::fingerprint::Fingerprint;
use crate::interlock::answer::Proof;
use crate::keys::Key;
use crate::procedure::ShopList;
use crate::quantity::UnitSystem;
use crate::report::page::{Align, Item, Page, Table, Tone};
use crate::simulator::drills::DRILLS;
use crate::simulator::scenario::{self, Scenario};
use crate::simulator::world::Stored;
use crate::simulator::{Level, Setup};
use crate::terminal::prompt::{Prompter, Terminal, Viewer};
use crate::walk::practice::debrief::debrief;
use crate::walk::practice::demo::Demo;
use crate::walk::practice::scores::{self, Rehearsed};
use crate::walk::practice::{Hand, PracticePrompter, run as practice};
use crate::walk::session::begin::Start;
use crate::walk::store::people_list;
use crate::walk::store::retry;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Practise a walk on a virtual mill and plate, with faults in the way
///
/// The walk is the real one: same questions, same rules. Only the mill is a model, worked at the same prompt: what begins
/// with `m` goes to it. A rehearsal never releases a real machine, and is kept apart from real runs.
#[derive(clap::Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate rehearse --demo --at-once --seed 7\n  skimgate rehearse --level easy --drills 0\n  skimgate rehearse --list"
)]
#[allow(clippy::struct_excessive_bools)] // each is a flag of its own
pub(crate) struct RehearseArgs {
    /// The procedure; the built-in one for an aluminium base plate when left out
    pub procedure: Option<PathBuf>,
    /// The shop's machines, plates and cutters; an invented shop when left out
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// The machine of the shop file to practise on; its first when left out
    #[arg(long, value_name = "ID")]
    pub machine: Option<String>,
    /// The plate; the first when left out
    #[arg(long, value_name = "ID")]
    pub plate: Option<String>,
    /// The cutter; the first when left out
    #[arg(long, value_name = "ID")]
    pub cutter: Option<String>,
    /// Which plate and which faults: the same number gives the same ones on every machine
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,
    /// How far from flat the plate is: easy, usual or hard
    #[arg(long, value_parser = level)]
    pub level: Option<Level>,
    /// How many faults are drawn by the seed
    #[arg(long, value_name = "COUNT", default_value = "2")]
    pub drills: usize,
    /// A fault by its id, instead of those drawn; may be given several times
    #[arg(long, value_name = "ID")]
    pub drill: Vec<String>,
    /// A trainer's scenario, a YAML file
    #[arg(long, value_name = "FILE", conflicts_with_all = ["drill", "level"])]
    pub scenario: Option<PathBuf>,
    /// Show a whole rehearsal by itself; nobody is asked
    #[arg(long)]
    pub demo: bool,
    /// With --demo, without pauses for reading
    #[arg(long, requires = "demo")]
    pub at_once: bool,
    /// List the faults that there are
    #[arg(long)]
    pub list: bool,
    /// List what `practice:` in a procedure can ask for and do: facts of the workshop, words of the mill
    #[arg(long)]
    pub facts: bool,
    /// List the recorded rehearsals
    #[arg(long)]
    pub scores: bool,
    /// Print the recorded rehearsals as comma-separated lines
    #[arg(long, conflicts_with = "json")]
    pub sheet: bool,
    /// How faults or rehearsals are listed.
    #[command(flatten)]
    pub report: JsonArg,
}

fn level(text: &str) -> Result<Level, String> {
    Level::from_word(text).ok_or_else(|| format!("`{text}` is not easy, usual or hard"))
}

/// Runs it.
pub(crate) fn run(args: &RehearseArgs, context: &CommandContext) -> Result<Status, Failure> {
    if args.facts {
        context.print_page(&known::facts())?;
        return Ok(Status::Fine);
    }
    if args.report.json && !args.list && !args.scores {
        return Err(Failure::at("--json", "goes with --list or --scores"));
    }
    if args.list && args.report.json {
        let all = DRILLS
            .iter()
            .map(|d| json!({"drill": d.id(), "title": d.title()}));
        let all: Vec<Value> = all.collect();
        context.print_json(&json!({"format": 1, "drills": all}))?;
        return Ok(Status::Fine);
    }
    if args.list {
        let rows = DRILLS
            .iter()
            .map(|d| vec![d.id().to_owned(), d.title().to_owned()])
            .collect();
        let table = Table {
            head: ["drill", "what is in the way"].map(str::to_owned).into(),
            rows,
            align: vec![Align::Left; 2],
        };
        context.print_page(&Page::new().table(table))?;
        return Ok(Status::Fine);
    }
    let real = context.book_path()?;
    let path = scores::beside(&real);
    if args.scores || args.sheet {
        return list_rehearsals(args, context, &path);
    }
    rehearse(args, context, &real, &path)
}

fn list_rehearsals(
    args: &RehearseArgs,
    context: &CommandContext,
    path: &Path,
) -> Result<Status, Failure> {
    let kept = if path.exists() {
        scores::all(&Book::open_existing(path)?)?
    } else {
        Vec::new()
    };
    if args.sheet {
        context.print_data(&scores::sheet(&kept))?;
        return Ok(Status::Fine);
    }
    if args.report.json {
        let all: Vec<Value> = kept.iter().map(scores::json).collect();
        context.print_json(&json!({"format": 1, "rehearsals": all}))?;
        return Ok(Status::Fine);
    }
    if kept.is_empty() {
        let page = Page::new()
            .text("No rehearsal is recorded.")
            .next("`skimgate rehearse` begins one; `skimgate rehearse --demo` shows one.");
        context.print_page(&page)?;
        return Ok(Status::Fine);
    }
    let rows = kept.iter().map(|k| {
        let r = &k.rehearsed;
        vec![
            clock::local_text(&k.at),
            format!("{}{}", r.operator, if r.demo { " (demo)" } else { "" }),
            r.score.points.to_string(),
            if r.score.is_clean() { "clean" } else { "-" }.to_owned(),
            format!("{}/{}", r.score.caught, r.drills.len()),
            r.seed.to_string(),
            r.level.clone(),
        ]
    });
    let head = [
        "practice, ended",
        "by",
        "points",
        "clean",
        "caught",
        "seed",
        "level",
    ];
    let table = Table {
        head: head.map(str::to_owned).into(),
        rows: rows.collect(),
        align: vec![
            Align::Left,
            Align::Left,
            Align::Right,
            Align::Left,
            Align::Right,
            Align::Right,
        ],
    };
    context.print_page(&Page::new().table(table))?;
    Ok(Status::Fine)
}

/// A scenario's file, and the fingerprint of its text.
pub(super) fn scenario_of(
    path: &Path,
    context: &CommandContext,
) -> Result<(Scenario, Fingerprint), Failure> {
    let text = files::text(path, ReadAs::Checklist)?;
    let name = path.display().to_string();
    let mut findings = Findings::default();
    match scenario::read(&text, &mut findings) {
        Some(found) => Ok((found, Fingerprint::of(&text))),
        None => Err(files::faults(&name, &text, findings, &context.err)),
    }
}

fn rehearse(
    args: &RehearseArgs,
    context: &CommandContext,
    real: &Path,
    path: &Path,
) -> Result<Status, Failure> {
    let clock = SystemClock;
    let scenario = args
        .scenario
        .as_deref()
        .map(|path| scenario_of(path, context));
    let (scenario, text) = scenario.transpose()?.unzip();
    // With another plate or cutter it is no longer what its file says.
    let chosen_otherwise = [&args.machine, &args.plate, &args.cutter];
    let as_written = args.seed.is_none() && chosen_otherwise.iter().all(|id| id.is_none());
    let by_scenario = scenario.as_ref().and_then(|s| s.seed);
    let drawn = u64::try_from(clock.now().as_ms() % 100_000).unwrap_or(1);
    let seed = args.seed.or(by_scenario).unwrap_or(drawn);
    let level = scenario
        .as_ref()
        .map_or(args.level.unwrap_or_default(), |s| s.level);
    let folder = scores::programs(real);
    let start = Start {
        procedure: files::procedure(args.procedure.as_deref(), context)?,
        shop: files::shop(args.shop.as_deref(), context)?,
        unit: Some(UnitSystem::Mm),
        answers_file: None,
        folder: std::path::absolute(&folder)?,
        rehearsal: true,
    };
    let procedure = &start.procedure.content;
    let drills = known::chosen(args, scenario.as_ref(), seed, procedure)?;
    let named = |i: usize| {
        scenario
            .as_ref()
            .and_then(|s| s.ids.get(i).cloned().flatten())
    };
    let asked = [&args.machine, &args.plate, &args.cutter];
    let ids: Vec<Option<String>> = (0..3)
        .map(|i| asked.get(i).and_then(|a| (*a).clone()).or_else(|| named(i)))
        .collect();
    let id = |i: usize| ids.get(i).and_then(|o| o.as_deref());
    let setup = Setup {
        seed,
        level,
        shop: &start.shop.content,
        ids: [id(0), id(1), id(2)],
        drills: drills.clone(),
        procedure: Some(&start.procedure.content),
    };
    let lists = [ShopList::Machines, ShopList::Plates, ShopList::Cutters];
    for (list, id) in lists.into_iter().zip(setup.ids) {
        if let Some(id) = id {
            shop_item(setup.shop, list, id)?;
        }
    }
    let world = setup.world().map_err(Failure::usage)?;
    // Opened before anything is written: a terminal that is none leaves no trace.
    let mut inner: Box<dyn Prompter> = match (args.demo, args.at_once) {
        (true, true) => Box::new(Viewer::at_once(context.screen())),
        (true, false) => Box::new(Viewer::reading(context.screen())?),
        (false, _) => Box::new(Terminal::open(context.screen()).map_err(|e| {
            Failure::from(e)
                .hint("run `skimgate rehearse` in a terminal")
                .hint("or look on: `skimgate rehearse --demo --at-once`")
        })?),
    };
    let book = Book::open(path)?;
    make_private_folder(&folder)?;
    make_private(&folder)?;
    for Stored { name, text, .. } in &world.store {
        crate::files::write(
            &folder.join(name),
            text.as_bytes(),
            Replace::Yes,
            ReadableBy::Owner,
        )
        .map_err(std::io::Error::from)?;
    }
    let hand = if args.demo {
        Hand::Demo(Demo::new(Arc::clone(&start.procedure.content)))
    } else {
        Hand::Person
    };
    let mut prompter = PracticePrompter::new(
        world,
        inner.as_mut(),
        hand,
        args.at_once,
        Arc::clone(&start.procedure.content),
    );
    prompter.show(&opening(seed, level, drills.len(), scenario.as_ref()))?;
    prompter.show(&known::not_judged(&start.procedure.content))?;
    let shop_book = if args.demo { None } else { listed_in(context)? };
    let ended = practice::rehearse(&start, book, shop_book, &clock, &mut prompter)?;
    let score = prompter.world.score(ended.complete);
    let page = debrief(&prompter.world, &score, context.err.plain);
    let decisions = prompter.world.decisions.clone();
    drop(prompter);
    let Some(run) = ended.run else {
        return Ok(Status::Interrupted);
    };
    let mut rehearsed = Rehearsed {
        run,
        operator: ended.operator,
        demo: args.demo,
        scenario: scenario.map(|s| s.title),
        seed,
        level: level.word().to_owned(),
        drills: drills.iter().map(|d| d.id().to_owned()).collect(),
        score,
        decisions,
        scenario_text: text.filter(|_| as_written),
        handed_over: ended.handed_over,
        proof: None,
        trainer: None,
    };
    inner.show(&page)?;
    if let Some(key) = ended.key {
        sign(&mut rehearsed, &key, context, inner.as_mut())?;
    }
    retry::insist(inner.as_mut(), |_| {
        scores::keep(&mut Book::open(path)?, &rehearsed, clock.now())
    })?;
    inner.show(&Page::new().next(format!(
        "Kept as practice. The same again: `skimgate rehearse --seed {seed}`. All of them: `skimgate rehearse --scores`."
    )))?;
    Ok(if ended.interrupted {
        Status::Interrupted
    } else {
        Status::Fine
    })
}

/// The book, where people are registered in it.
fn listed_in(context: &CommandContext) -> Result<Option<Book>, Failure> {
    let Some(book) = context.existing_book()? else {
        return Ok(None);
    };
    if people_list::load(&book)?.is_empty() {
        return Ok(None);
    }
    // A PIN is tried under its write lock.
    context.book().map(Some)
}

/// Signs a rehearsal with the key of who made it; and where the shop wants a trainer beside, and it would count, with that
/// trainer's.
fn sign(
    rehearsed: &mut Rehearsed,
    key: &Key,
    context: &CommandContext,
    prompter: &mut dyn Prompter,
) -> Result<(), Failure> {
    rehearsed.proof = Some(Proof {
        key: key.public(),
        signature: key.sign(&rehearsed.text_to_sign(&rehearsed.operator)),
        role: None,
    });
    let Some(mut book) = listed_in(context)? else {
        return Ok(());
    };
    let people = people_list::load(&book)?;
    let wanted = people.required().filter(|r| r.trainer);
    let counts = wanted.is_some_and(|r| rehearsed.is_clean(r.points)) && !rehearsed.handed_over;
    if counts {
        rehearsed.trainer = practice::trainer(rehearsed, &mut book, &SystemClock, prompter)?;
    }
    Ok(())
}

fn opening(seed: u64, level: Level, drills: usize, scenario: Option<&Scenario>) -> Page {
    let mut page = Page::new()
        .gap()
        .title("Rehearsal: practice on a virtual mill, no real cut");
    if let Some(scenario) = scenario {
        page = page.toned(Tone::Strong, scenario.title.clone());
    }
    let faults = match drills {
        0 => "No fault is put in the way.".to_owned(),
        1 => "One fault is in the way. Look before you answer.".to_owned(),
        n => format!("{n} faults are in the way. Look before you answer."),
    };
    page.text(format!("Seed {seed}, plate {}. {faults}", level.word())).list([
        Item::new("The walk asks what it asks at a real mill. Answer what is so, not what ought to be."),
        Item::new("Beside every question stands the mill. `m` and a word works it: `m look`, `m home`, `m down 5`, `m ?`. `m` alone stays there, Enter alone comes back."),
        Item::new("Something is wrong? `m hold` and what it is; then clear it, in order."),
        Item::new("`m sheet` is the setup sheet: which plate, cutter and program, and where X0 Y0 is."),
    ])
}
