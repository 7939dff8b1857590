//! `skimgate people`: who may sign as what.

use super::around::Around;
use super::failure::Failure;
use super::status::Status;
use crate::book::Book;
use crate::clock::{self, Clock, SystemClock};
use crate::desk::{Desk, Terminal};
use crate::keys::Key;
use crate::people::{Alone, Event, People, Person, Role, Signed};
use crate::report::page::{Page, Table, Tone};
use crate::walk::keyring::{self, Unlocked};
use crate::walk::practice::scores;
use crate::walk::roster;
use serde_json::json;

/// Say who may sign as what: list people, add, change and retire them, issue keys
#[derive(clap::Args, Debug)]
#[command(
    after_help = "As long as nobody is registered, signing is by typed initials. The first person must be an owner.\nExamples:\n  skimgate people list\n  skimgate people add AB --role owner,operator\n  skimgate people add CD --role operator --machines mill-a --procedures none"
)]
pub struct PeopleArgs {
    #[command(subcommand)]
    command: PeopleCommand,
}

#[derive(clap::Subcommand, Debug)]
enum PeopleCommand {
    /// Everybody on the list, retired ones among them
    List {
        /// One JSON object a person on standard output
        #[arg(long)]
        json: bool,
    },
    /// Register somebody, who chooses a PIN or pass phrase at the prompt
    Add {
        /// Their initials: one to eight letters or digits
        initials: String,
        #[command(flatten)]
        stands: Stands,
        #[command(flatten)]
        owner: Owner,
    },
    /// Change a name, roles, or what somebody may run alone
    Change {
        /// Their initials
        initials: String,
        #[command(flatten)]
        stands: Stands,
        #[command(flatten)]
        owner: Owner,
    },
    /// Let somebody sign no more; what they signed stays
    Retire {
        /// Their initials
        initials: String,
        #[command(flatten)]
        owner: Owner,
    },
    /// Issue a new key with a new PIN; what was signed with the old one stays valid
    Key {
        /// Their initials
        initials: String,
        #[command(flatten)]
        owner: Owner,
    },
}

#[derive(clap::Args, Debug)]
struct Stands {
    /// Their name, where it is wanted on the record
    #[arg(long)]
    name: Option<String>,
    /// operator, trainer, owner; several with commas. Operator when left out
    #[arg(long, value_delimiter = ',', value_parser = role)]
    role: Vec<Role>,
    /// Machines they may run without a second signature: all, none, or ids with commas. All when left out
    #[arg(long, value_name = "IDS", value_parser = alone)]
    machines: Option<Alone>,
    /// Procedures they may run without a second signature: all, none, or ids with commas. All when left out
    #[arg(long, value_name = "IDS", value_parser = alone)]
    procedures: Option<Alone>,
    /// Only if they have so many clean rehearsals with a fault in the way; as the practice book beside this one says
    #[arg(long, value_name = "COUNT")]
    rehearsed: Option<usize>,
    /// With --rehearsed, the least points of each
    #[arg(
        long,
        value_name = "POINTS",
        default_value = "80",
        requires = "rehearsed"
    )]
    points: i64,
}

impl Stands {
    /// Looks whether somebody has practised enough, where that is asked. Initials in practice are typed and not proven by
    /// a key: whoever says so should have stood beside it.
    fn practised(&self, initials: &str, around: &Around) -> Result<(), Failure> {
        let Some(wanted) = self.rehearsed else {
            return Ok(());
        };
        let path = scores::beside(&around.book_path()?);
        let kept = if path.exists() {
            scores::all(&Book::open_existing(path)?)?
        } else {
            Vec::new()
        };
        let has = scores::clean(&kept, initials, self.points);
        if has >= wanted {
            return Ok(());
        }
        let points = self.points;
        Err(Failure::new(
            Status::Held,
            format!(
                "{initials} has {has} of {wanted} clean rehearsals of at least {points} points with a fault in the way"
            ),
        )
        .hint("`skimgate rehearse` makes one, `skimgate rehearse --scores` lists them"))
    }
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
fn alone(text: &str) -> Result<Alone, String> {
    let ids = || text.split(',').map(str::trim).filter(|id| !id.is_empty());
    Ok(match text.trim() {
        "all" => Alone::All,
        "none" => Alone::Only([].into()),
        _ => Alone::Only(ids().map(str::to_owned).collect()),
    })
}

/// Runs it.
pub fn run(args: &PeopleArgs, around: &Around) -> Result<Status, Failure> {
    let (initials, owner) = match &args.command {
        PeopleCommand::List { json } => return list(around, *json),
        PeopleCommand::Add {
            initials, owner, ..
        }
        | PeopleCommand::Change {
            initials, owner, ..
        }
        | PeopleCommand::Retire { initials, owner }
        | PeopleCommand::Key { initials, owner } => (initials.to_uppercase(), owner),
    };
    if let PeopleCommand::Add { stands, .. } | PeopleCommand::Change { stands, .. } = &args.command
    {
        stands.practised(&initials, around)?;
    }
    let mut desk = Terminal::open(around.screen())
        .map_err(|e| Failure::from(e).hint("a PIN is typed at a terminal and nowhere else"))?;
    let mut book = around.book()?;
    book.verify_chain()?;
    roster::verify(&book)?;
    let people = roster::load(&book)?;
    let mut change = Change {
        book: &mut book,
        people,
        desk: &mut desk,
        clock: &SystemClock,
    };
    match &args.command {
        PeopleCommand::List { .. } => Ok(Status::Fine),
        PeopleCommand::Add { stands, .. } => {
            let mut roles = stands.role.clone();
            if roles.is_empty() {
                roles.push(Role::Operator);
            }
            let person = Person {
                initials: initials.clone(),
                name: stands.name.clone(),
                roles: roles.into_iter().collect(),
                machines: stands.machines.clone().unwrap_or(Alone::All),
                procedures: stands.procedures.clone().unwrap_or(Alone::All),
            };
            let event = |key| Event::Added {
                person: person.clone(),
                key,
            };
            change.with_new_key(&initials, owner, event)
        }
        PeopleCommand::Key { .. } => {
            let event = |key| Event::KeyIssued {
                initials: initials.clone(),
                key,
            };
            change.with_new_key(&initials, owner, event)
        }
        PeopleCommand::Change { stands, .. } => {
            let mut person = match change.people.find(&initials) {
                Some(listed) => listed.person.clone(),
                None => {
                    return Err(refused(&crate::people::Refusal::Unknown(initials)));
                }
            };
            if stands.name.is_some() {
                person.name.clone_from(&stands.name);
            }
            if !stands.role.is_empty() {
                person.roles = stands.role.iter().copied().collect();
            }
            if let Some(machines) = &stands.machines {
                person.machines = machines.clone();
            }
            if let Some(procedures) = &stands.procedures {
                person.procedures = procedures.clone();
            }
            change.of_owner(owner, Event::Changed { person })
        }
        PeopleCommand::Retire { .. } => change.of_owner(owner, Event::Retired { initials }),
    }
}

fn refused(refusal: &crate::people::Refusal) -> Failure {
    Failure::usage(refusal.to_string())
}

/// A change of the list under way.
struct Change<'a> {
    book: &'a mut Book,
    people: People,
    desk: &'a mut dyn Desk,
    clock: &'a dyn Clock,
}

impl Change<'_> {
    fn of_owner(&mut self, owner: &Owner, event: Event) -> Result<Status, Failure> {
        self.people.possible(&event).map_err(|r| refused(&r))?;
        let Some((by, key)) = self.owner(owner)? else {
            return Ok(Status::Held);
        };
        self.record(event, &by, &key)
    }

    /// A change that comes with a key. It is looked at before anybody types a PIN.
    fn with_new_key(
        &mut self,
        initials: &str,
        owner: &Owner,
        event: impl Fn(String) -> Event,
    ) -> Result<Status, Failure> {
        self.people
            .possible(&event(String::new()))
            .map_err(|r| refused(&r))?;
        let signer = if self.people.is_empty() {
            None
        } else {
            match self.owner(owner)? {
                Some(signer) => Some(signer),
                None => return Ok(Status::Held),
            }
        };
        let Some(pin) = keyring::new_pin(self.desk, initials)? else {
            return left(self.desk);
        };
        let path = self.book.path().to_path_buf();
        let key = keyring::make(&path, self.desk, initials, &pin)?;
        let event = event(key.public());
        match signer {
            Some((by, owner)) => self.record(event, &by, &owner),
            // Nobody is there yet who could: the first person signs themselves.
            None => self.record(event, initials, &key),
        }
    }

    /// Which owner does it, and their key; none when it was not unlocked, which was told.
    fn owner(&mut self, owner: &Owner) -> Result<Option<(String, Key)>, Failure> {
        let owners: Vec<String> = self
            .people
            .all()
            .filter(|l| l.retired.is_none() && l.person.is(Role::Owner))
            .map(|l| l.person.initials.clone())
            .collect();
        let by = match (&owner.by, owners.as_slice()) {
            (Some(by), _) => by.to_uppercase(),
            (None, [one]) => one.clone(),
            (None, []) => {
                return Err(Failure::usage("nobody is on the list yet")
                    .hint("`skimgate people add INITIALS --role owner` begins it"));
            }
            (None, _) => {
                return Err(Failure::usage(format!(
                    "there are several owners: {}",
                    owners.join(", ")
                ))
                .hint("say which one does it: `--by INITIALS`"));
            }
        };
        if !owners.contains(&by) {
            return Err(Failure::usage(format!(
                "{by} is no owner; only an owner keeps the list"
            )));
        }
        match keyring::unlock(self.book, &mut self.people, self.desk, self.clock, &by)? {
            Unlocked::Key(key) => Ok(Some((by, key))),
            Unlocked::No => Ok(None),
            Unlocked::Interrupted | Unlocked::Closed => {
                left(self.desk)?;
                Ok(None)
            }
        }
    }

    fn record(&mut self, event: Event, by: &str, key: &Key) -> Result<Status, Failure> {
        self.people.possible(&event).map_err(|r| refused(&r))?;
        let now = self.clock.now();
        let text = words(&event);
        let signed = Signed::by(event, by, key, &self.people.place(now));
        roster::append(self.book, &mut self.people, now, &signed)?;
        let page = Page::new().toned(Tone::Good, format!("{text} Recorded, signed by {by}."));
        self.desk.show(&page)?;
        Ok(Status::Fine)
    }
}

fn left(desk: &mut dyn Desk) -> Result<Status, Failure> {
    let page = Page::new().toned(Tone::Strong, "Left. The list stays as it was.");
    desk.show(&page)?;
    Ok(Status::Interrupted)
}

fn words(event: &Event) -> String {
    match event {
        Event::Added { person, .. } => format!("{} is on the list.", person.initials),
        Event::Changed { person } => format!("{} is changed.", person.initials),
        Event::Retired { initials } => format!("{initials} is retired and signs no more."),
        Event::KeyIssued { initials, .. } => format!("{initials} has a new key."),
        Event::WrongPin { initials } => format!("A wrong PIN for {initials}."),
        Event::Unlocked { initials } => format!("The key of {initials} was opened."),
    }
}

fn list(around: &Around, as_json: bool) -> Result<Status, Failure> {
    let people = match around.existing_book()? {
        Some(book) => roster::load(&book)?,
        None => People::default(),
    };
    if as_json {
        for listed in people.all() {
            let p = &listed.person;
            let alone = |alone: &Alone| match alone {
                Alone::All => json!("all"),
                Alone::Only(ids) => json!(ids),
            };
            let line = json!({
                "format": 1, "initials": p.initials, "name": p.name,
                "roles": p.roles.iter().map(|r| r.word()).collect::<Vec<_>>(),
                "machines_alone": alone(&p.machines), "procedures_alone": alone(&p.procedures),
                "key": listed.key(), "since": listed.since.to_string(),
                "retired": listed.retired.map(|at| at.to_string()),
            });
            around.print(&format!("{line}\n"))?;
        }
        return Ok(Status::Fine);
    }
    if people.is_empty() {
        let page = Page::new()
            .text("Nobody is registered: sign-offs are by typed initials, and the record says so.")
            .next("`skimgate people add INITIALS --role owner` begins the list.");
        around.print_page(&page)?;
        return Ok(Status::Fine);
    }
    let rows = people.all().map(|l| {
        let p = &l.person;
        let roles: Vec<&str> = p.roles.iter().map(|r| r.word()).collect();
        let day = |at| clock::local(at).chars().take(10).collect::<String>();
        vec![
            p.initials.clone(),
            p.name.clone().unwrap_or_default(),
            roles.join(", "),
            p.machines.words(),
            p.procedures.words(),
            match l.retired {
                Some(at) => format!("retired {}", day(at)),
                None => format!("since {}", day(l.since)),
            },
        ]
    });
    let table = Table {
        head: ["initials", "name", "roles", "machines", "procedures", ""]
            .map(str::to_owned)
            .into(),
        rows: rows.collect(),
        align: Vec::new(),
    };
    let page = Page::new()
        .table(table)
        .text("Machines and procedures: those that somebody may run alone.");
    around.print_page(&page)?;
    Ok(Status::Fine)
}
