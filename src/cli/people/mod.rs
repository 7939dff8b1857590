//! `skimgate people`: who may sign as what.

mod change;
mod history;
mod known;
mod list;

use super::context::CommandContext;
use super::failure::Failure;
use super::rehearse::scenario_of;
use super::reporting::JsonArg;
use super::status::Status;
use crate::clock::SystemClock;
use crate::people::{AloneScope, Event, NamedScenario, Person, PracticeRequirement, Role};
use crate::terminal::prompt::Terminal;
use crate::walk::store::people_list;
use change::Change;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// List who may sign as what; add, change and retire people, issue keys
#[derive(clap::Args, Debug)]
#[command(
    after_help = "As long as nobody is registered, signing is by typed initials. The first person must be an owner.\nExamples:\n  skimgate people list\n  skimgate people add AB --role owner,operator\n  skimgate people add CD --role operator --machines mill-a --procedures none"
)]
pub(crate) struct PeopleArgs {
    #[command(subcommand)]
    command: PeopleCommand,
}

impl PeopleArgs {
    /// Whether a program reads the report.
    pub(crate) fn json(&self) -> bool {
        match &self.command {
            PeopleCommand::List { report } | PeopleCommand::History { report } => report.json,
            _ => false,
        }
    }
}

#[derive(clap::Subcommand, Debug)]
enum PeopleCommand {
    /// List everybody, retired people among them
    List {
        /// How it is reported.
        #[command(flatten)]
        report: JsonArg,
    },
    /// Show what happened to the list: changes with who signed them, new keys, wrong PINs
    History {
        /// How it is reported.
        #[command(flatten)]
        report: JsonArg,
    },
    /// Add a person, who chooses a PIN or pass phrase at the prompt
    Add {
        /// Their initials: one to eight letters or digits
        initials: String,
        #[command(flatten)]
        stands: StandingArgs,
        #[command(flatten)]
        owner: Owner,
    },
    /// Change a name, roles, or what somebody may run alone
    Change {
        /// Their initials
        initials: String,
        #[command(flatten)]
        stands: StandingArgs,
        #[command(flatten)]
        owner: Owner,
    },
    /// Retire a person: they sign no more; what they signed stays
    Retire {
        /// Their initials
        initials: String,
        #[command(flatten)]
        owner: Owner,
    },
    /// Require practice before somebody is let run alone
    Require {
        /// So many clean rehearsals with a fault in the way; 0 asks for none
        #[arg(long, value_name = "COUNT", required_unless_present = "scenario")]
        rehearsals: Option<u32>,
        /// The least points of each
        #[arg(long, value_name = "POINTS", default_value = "80", value_parser = clap::value_parser!(i64).range(1..=100))]
        points: i64,
        /// A scenario that must have been rehearsed clean, by its file as it is now; may be given several times
        #[arg(long, value_name = "FILE")]
        scenario: Vec<PathBuf>,
        /// A rehearsal counts only where a trainer was beside, who types their PIN at its end
        #[arg(long)]
        trainer: bool,
        #[command(flatten)]
        owner: Owner,
    },
    /// Issue a new key with a new PIN; what was signed with the old one stays valid
    Key {
        /// Their initials
        initials: String,
        /// An owner's PIN is lost: ask for their recovery code in the place of an owner's PIN
        #[arg(long, conflicts_with = "by")]
        recovery: bool,
        #[command(flatten)]
        owner: Owner,
    },
    /// Make a new recovery code for an owner, who types their PIN; the one before opens nothing more
    Code {
        /// Their initials
        initials: String,
    },
}

#[derive(clap::Args, Debug)]
struct StandingArgs {
    /// Their name, where it is wanted on the record
    #[arg(long)]
    name: Option<String>,
    /// operator, trainer, owner; several with commas. When left out: operator for `add`, as before for `change`
    #[arg(long, value_delimiter = ',', value_parser = role)]
    role: Vec<Role>,
    /// Machines they may run without a second signature: all, none, or ids with commas. When left out: all for `add`, as before for `change`
    #[arg(long, value_name = "IDS", value_parser = alone)]
    machines: Option<AloneScope>,
    /// Procedures they may run without a second signature: all, none, or ids with commas. When left out: all for `add`, as before for `change`
    #[arg(long, value_name = "IDS", value_parser = alone)]
    procedures: Option<AloneScope>,
}

#[derive(clap::Args, Debug)]
struct Owner {
    /// The owner who does it; needed where there are several
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
}

fn role(text: &str) -> Result<Role, String> {
    Role::from_word(&text.trim().to_lowercase())
        .ok_or_else(|| format!("`{text}` is not operator, trainer or owner"))
}

// The error type is what clap asks of a parser.
#[allow(clippy::unnecessary_wraps)]
fn alone(text: &str) -> Result<AloneScope, String> {
    let ids = || text.split(',').map(str::trim).filter(|id| !id.is_empty());
    Ok(match text.trim() {
        "all" => AloneScope::All,
        "none" => AloneScope::Only([].into()),
        _ => AloneScope::Only(ids().map(str::to_owned).collect()),
    })
}

/// A scenario to be asked for, by its file.
fn named(path: &Path, context: &CommandContext) -> Result<NamedScenario, Failure> {
    let (scenario, text) = scenario_of(path, context)?;
    if scenario.drills.is_empty() {
        let name = path.display();
        return Err(Failure::usage(format!(
            "{name}: no fault is in the way in this scenario, so it counts as no practice"
        ))
        .hint("give it `drills`; `skimgate rehearse --list` lists them"));
    }
    Ok(NamedScenario {
        title: scenario.title,
        file: path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        text,
    })
}

/// Runs it.
pub(crate) fn run(args: &PeopleArgs, context: &CommandContext) -> Result<Status, Failure> {
    if let PeopleCommand::List { report } = &args.command {
        return list::list(context, report.json);
    }
    if let PeopleCommand::History { report } = &args.command {
        return history::history(context, report.json);
    }
    let mut prompter = Terminal::open(context.screen())
        .map_err(|e| Failure::from(e).hint("a PIN is typed at a terminal and nowhere else"))?;
    let mut book = context.book()?;
    book.verify_chain()?;
    people_list::verify(&book)?;
    let people = people_list::load(&book)?;
    let known = known::KnownIds::of(&book, context)?;
    let mut change = Change {
        known,
        book: &mut book,
        people,
        uncounted: BTreeMap::new(),
        prompter: &mut prompter,
        clock: &SystemClock,
    };
    match &args.command {
        PeopleCommand::List { .. } | PeopleCommand::History { .. } => Ok(Status::Fine),
        PeopleCommand::Add {
            initials,
            stands,
            owner,
        } => {
            let initials = initials.to_uppercase();
            let mut roles = stands.role.clone();
            if roles.is_empty() {
                roles.push(Role::Operator);
            }
            let person = Person {
                initials: initials.clone(),
                name: stands.name.clone(),
                roles: roles.into_iter().collect(),
                machines: stands.machines.clone().unwrap_or(AloneScope::All),
                procedures: stands.procedures.clone().unwrap_or(AloneScope::All),
            };
            let practised = change.practised(&initials)?;
            let event = |key| Event::Added {
                person: person.clone(),
                key,
                practised: practised.clone(),
            };
            change.with_new_key(&initials, owner, event)
        }
        PeopleCommand::Key {
            initials,
            recovery: true,
            ..
        } => change.recover(&initials.to_uppercase()),
        PeopleCommand::Code { initials } => change.new_code(&initials.to_uppercase()),
        PeopleCommand::Key {
            initials, owner, ..
        } => {
            let initials = initials.to_uppercase();
            let event = |key| Event::KeyIssued {
                initials: initials.clone(),
                key,
            };
            change.with_new_key(&initials, owner, event)
        }
        PeopleCommand::Change {
            initials,
            stands,
            owner,
        } => {
            let person = change.changed(&initials.to_uppercase(), stands)?;
            let practised = change.practised(&person.initials)?;
            change.of_owner(owner, Event::Changed { person, practised })
        }
        PeopleCommand::Require {
            rehearsals,
            points,
            scenario,
            trainer,
            owner,
        } => {
            let scenarios = scenario.iter().map(|path| named(path, context));
            let practice = PracticeRequirement {
                rehearsals: rehearsals.unwrap_or_default(),
                points: *points,
                scenarios: scenarios.collect::<Result<_, _>>()?,
                trainer: *trainer,
            };
            change.of_owner(owner, Event::Required { practice })
        }
        PeopleCommand::Retire { initials, owner } => {
            let initials = initials.to_uppercase();
            change.of_owner(owner, Event::Retired { initials })
        }
    }
}
