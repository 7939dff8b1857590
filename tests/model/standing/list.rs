//! The second, naive statement of the rule: a list of what happened in the runs of one machine, and simple queries on it.

/// Where the answers of a run come from.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum Class {
    Person,
    File,
    Rehearsal,
}

/// The steps that are answered, by their order.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum Asked {
    Eyes,
    Tram,
    Cutter,
    Mark,
}

impl Asked {
    pub(crate) const ALL: [Self; 4] = [Self::Eyes, Self::Tram, Self::Cutter, Self::Mark];

    pub(crate) fn id(self) -> &'static str {
        ["eyes", "tram", "cutter", "mark"][self as usize]
    }
}

/// One entry of the list.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum What {
    /// A run began, with this version of the machine's facts.
    Began(Class, u8),
    /// Somebody saw and answered; `reason` where the value needed one.
    Saw {
        step: Asked,
        value: u8,
        reason: bool,
    },
    /// An earlier answer stands.
    Stood(Asked),
    /// A stop, and whether it was planned.
    Stopped { planned: bool },
    /// The run was resumed after a stop.
    Resumed,
    /// The run ended; `true` if every step was answered.
    Ended(bool),
}

/// What happened, each entry with its day and the number of its run.
#[derive(Clone, Default, Debug)]
pub(crate) struct List(pub(crate) Vec<(i64, usize, What)>);

/// Why an answer does not stand.
pub(crate) type Reason = &'static str;

/// How many days an answer stands.
const DAYS: i64 = 2;

impl List {
    /// The number of runs so far.
    pub(crate) fn runs(&self) -> usize {
        let began = |(_, _, what): &&(i64, usize, What)| matches!(what, What::Began(..));
        self.0.iter().filter(began).count()
    }

    fn of(&self, run: usize) -> impl DoubleEndedIterator<Item = (usize, What)> + '_ {
        let all = self.0.iter().enumerate();
        all.filter(move |(_, (_, of, _))| *of == run)
            .map(|(i, (_, _, what))| (i, *what))
    }

    /// The open run.
    pub(crate) fn open(&self) -> Option<usize> {
        let last = self.runs().checked_sub(1)?;
        let ended = self.of(last).any(|(_, w)| matches!(w, What::Ended(_)));
        (!ended).then_some(last)
    }

    /// Whether the open run was stopped and not resumed.
    pub(crate) fn left(&self) -> bool {
        self.0
            .last()
            .is_some_and(|(_, _, what)| matches!(what, What::Stopped { .. }))
    }

    fn began(&self, run: usize) -> (Class, u8) {
        let began = self.of(run).find_map(|(_, what)| match what {
            What::Began(class, facts) => Some((class, facts)),
            _ => None,
        });
        began.unwrap()
    }

    pub(crate) fn class(&self, run: usize) -> Class {
        self.began(run).0
    }

    fn cutter(&self, run: usize) -> Option<u8> {
        self.of(run).rev().find_map(|(_, what)| match what {
            What::Saw {
                step: Asked::Cutter,
                value,
                ..
            } => Some(value),
            _ => None,
        })
    }

    /// Whether a step is answered in a run, seen there or not.
    pub(crate) fn answered(&self, run: usize, step: Asked) -> bool {
        self.of(run).any(|(_, what)| match what {
            What::Saw { step: of, .. } | What::Stood(of) => of == step,
            _ => false,
        })
    }

    fn complete(&self, run: usize) -> bool {
        self.of(run).any(|(_, what)| what == What::Ended(true))
    }

    /// The last entry in which a finished run of this class saw the step.
    fn last_seen(&self, own: usize, step: Asked) -> Option<usize> {
        let class = self.class(own);
        self.0
            .iter()
            .enumerate()
            .rev()
            .find_map(|(i, (_, run, what))| {
                let saw = matches!(what, What::Saw { step: of, .. } if *of == step);
                let counts = *run != own && self.class(*run) == class && self.complete(*run);
                // A later answer of the same run replaces the one before it; here each is answered once.
                (saw && counts).then_some(i)
            })
    }

    /// The entry from which the answer stands in the open run, or why it does not.
    pub(crate) fn may_stand(&self, step: Asked, now: i64) -> Result<usize, Reason> {
        let own = self.open().ok_or("no run is open")?;
        if self.answered(own, step) {
            return Err("answered already");
        }
        self.would_stand(own, step, now)
    }

    /// As `may_stand`, whether the step is answered or not.
    pub(crate) fn would_stand(&self, own: usize, step: Asked, now: i64) -> Result<usize, Reason> {
        if step == Asked::Eyes || step == Asked::Cutter {
            return Err("must be seen now");
        }
        if self.class(own) == Class::Rehearsal {
            return Err("a rehearsal");
        }
        let i = self.last_seen(own, step).ok_or("never seen")?;
        let (day, run, What::Saw { value, reason, .. }) = self.0[i] else {
            return Err("never seen");
        };
        if reason {
            return Err("accepted with a reason");
        }
        if now - day > DAYS {
            return Err("too long ago");
        }
        let mut before = day;
        for (at, ..) in &self.0[i..] {
            if *at < before || *at > now {
                return Err("the clock went back");
            }
            before = *at;
        }
        if step == Asked::Tram && self.began(run).1 != self.began(own).1 {
            return Err("a fact of the machine changed");
        }
        if step == Asked::Mark && self.cutter(run) != self.cutter(own) {
            return Err("another cutter");
        }
        for (_, other, what) in &self.0[i + 1..] {
            let same = self.class(*other) == self.class(own);
            match what {
                What::Stopped { planned: false } if same => return Err("stopped since"),
                What::Saw {
                    step: of, value: v, ..
                } if same && *of == step && *v != value => return Err("seen otherwise since"),
                _ => {}
            }
        }
        Ok(i)
    }

    /// Whether the answer that stands in the open run still does: its time, the clock, and stops of this run.
    pub(crate) fn still_stands(&self, step: Asked, now: i64) -> bool {
        let Some(own) = self.open() else { return true };
        let stood = self.of(own).find(|(_, what)| *what == What::Stood(step));
        let Some((at, _)) = stood else { return true };
        let seen = self.last_seen(own, step).map(|i| self.0[i].0);
        let mut before = seen.unwrap_or(i64::MAX);
        for (day, ..) in &self.0[at..] {
            if *day < before {
                return false;
            }
            before = *day;
        }
        let stopped = |(_, _, what): &(i64, usize, What)| *what == What::Stopped { planned: false };
        now >= before
            && seen.is_some_and(|day| now - day <= DAYS)
            && !self.0[at..].iter().any(stopped)
    }
}
