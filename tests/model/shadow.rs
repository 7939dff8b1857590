//! The second, naive statement of the rules: a list of what happened and simple queries on it, each computed by reading
//! the list. It uses no function of the interlock, and it stores nothing except the list.

use crate::list::{BY_HAND, ByHand};
use crate::table::{Group, Row, Sort, Table, Val, line_by_hand, offset_by_hand};

/// A row of the table in a pass; the pass is 0 outside repeating phases.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Spot {
    pub row: usize,
    pub pass: u8,
}

/// One entry of the list.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum What {
    Said {
        at: Spot,
        val: Val,
        by: u8,
        reason: bool,
    },
    /// A line of codes was typed that leaves a group open.
    Typed {
        at: Spot,
        line: &'static str,
        reason: bool,
    },
    /// The series of touches was started again.
    Restarted(Spot),
    Signed {
        at: Spot,
        by: u8,
        second: Option<u8>,
    },
    /// The list of people changed to this one.
    List(u8),
    /// The list of people was checked, and the sign-off became invalid.
    SignOffInvalidated,
    Released {
        at: Spot,
        to: u8,
    },
    Started {
        at: Spot,
    },
    CutEnded {
        at: Spot,
        how: How,
    },
    HandedOver {
        to: u8,
    },
    Left,
    /// The run was resumed; the flag says whether the answers come from a file from now on.
    TakenUp {
        by: u8,
        file: bool,
        /// The answer whether the machine stayed as it was, where it was given.
        kept: Option<bool>,
    },
    /// A cut was assumed, because nobody was at the machine.
    Assumed {
        at: Spot,
    },
    /// A release was found whose terminal no longer exists.
    FoundReleased,
    /// The stop word was typed.
    Stopped(Why),
    /// The cause of a stop was recorded.
    Explained {
        lost: bool,
    },
    /// A state was seen at this row in which the machine must not be used.
    FoundBad(Spot),
    /// The machine was put back in service.
    PutBack,
    /// The program file was checked and was not the examined one.
    ProgramInvalidated,
}

/// What was said about the cause with a stop.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Why {
    NotSaid,
    Planned,
    Hit,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum How {
    Finished,
    Stopped(Why),
    Emergency,
}

/// Why something is not allowed.
pub type Reason = &'static str;

/// The list of what happened, each entry with the clock's minute.
#[derive(Clone, Debug)]
pub struct Shadow {
    pub table: &'static Table,
    pub rehearsal: bool,
    /// Whether people are registered.
    pub signers: bool,
    /// Whether a trainer must sign the hold points.
    pub taught: bool,
    pub list: Vec<(i64, What)>,
    /// For each time another terminal asked whether cycle start is released: the length of the list, and the minute.
    pub asked: Vec<(usize, i64)>,
}

impl Shadow {
    pub fn new(table: &'static Table, rehearsal: bool, signers: bool, now: i64) -> Self {
        // The machine is already chosen when the run begins.
        let at = Spot { row: 0, pass: 0 };
        let val = Val::Word("north");
        let first = What::Said {
            at,
            val,
            by: 0,
            reason: false,
        };
        Self {
            table,
            rehearsal,
            signers,
            taught: false,
            list: vec![(now, first)],
            asked: Vec::new(),
        }
    }

    pub fn row(&self, at: Spot) -> &'static Row {
        &self.table.rows[at.row]
    }

    pub fn spot(&self, id: &str, pass: u8) -> Spot {
        let row = self.table.rows.iter().position(|r| r.id == id).unwrap();
        let pass = if self.table.rows[row].group == Group::Once {
            0
        } else {
            pass
        };
        Spot { row, pass }
    }

    fn find(&self, sort: Sort, group: Group, pass: u8) -> Spot {
        let fits = |r: &Row| r.sort == sort && r.group == group;
        let row = self.table.rows.iter().position(fits).unwrap();
        Spot { row, pass }
    }

    pub fn operator(&self) -> u8 {
        let mut operator = 0;
        for (_, what) in &self.list {
            match what {
                What::HandedOver { to } => operator = *to,
                What::TakenUp { by, .. } => operator = *by,
                _ => {}
            }
        }
        operator
    }

    pub fn left(&self) -> bool {
        let mut left = false;
        for (_, what) in &self.list {
            match what {
                What::Left | What::Stopped { .. } => left = true,
                What::TakenUp { .. } => left = false,
                _ => {}
            }
        }
        left
    }

    /// The cut under way.
    pub fn cutting(&self) -> Option<Spot> {
        let mut cutting = None;
        for (_, what) in &self.list {
            match what {
                What::Started { at } | What::Assumed { at } => cutting = Some(*at),
                What::CutEnded { .. } | What::Stopped { .. } => cutting = None,
                _ => {}
            }
        }
        cutting
    }

    pub fn finished(&self, cut: Spot) -> bool {
        self.list
            .iter()
            .any(|(_, w)| matches!(w, What::CutEnded { at, how: How::Finished } if *at == cut))
    }

    /// The last answer at `of`: its index in the list, the answer, the person, and whether it has a reason.
    fn last(&self, of: Spot) -> Option<(usize, Val, u8, bool)> {
        self.last_before(of, self.list.len())
    }

    fn last_before(&self, of: Spot, end: usize) -> Option<(usize, Val, u8, bool)> {
        for (i, (_, what)) in self.list[..end].iter().enumerate().rev() {
            if let What::Said {
                at,
                val,
                by,
                reason,
            } = what
                && *at == of
            {
                return Some((i, *val, *by, *reason));
            }
        }
        None
    }

    /// Whether entry `j` of the list invalidated the answer at `of`, or something that it depends on.
    fn disturbs(&self, j: usize, of: Spot) -> bool {
        let row = self.row(of);
        let rests = |id: &str| row.rests_on.contains(&id);
        match self.list[j].1 {
            What::Said {
                at, val, reason, ..
            } => {
                if row.sort == Sort::Sign {
                    return true;
                }
                let said = self.row(at);
                let same_round = said.group != row.group || at.pass == of.pass;
                let led_here = row.group == Group::Rough
                    && said.sort == Sort::Look
                    && of.pass > 1
                    && at.pass == of.pass - 1;
                let changed = reason || self.last_before(at, j).is_none_or(|(_, v, ..)| v != val);
                changed && (led_here || (rests(said.id) && same_round))
            }
            What::Restarted(at) => at == of || rests(self.row(at).id) || row.sort == Sort::Sign,
            // The sign-off of a cut under way is used up, no matter who resumes the run.
            What::TakenUp { by, kept, .. } => {
                let cutting = self.until(j).cutting().is_some();
                row.sort == Sort::Sign && (by != self.operator_before(j) || !cutting)
                    || kept == Some(false) && !cutting && self.depends_on_position(row)
            }
            What::HandedOver { .. } | What::FoundReleased | What::SignOffInvalidated => {
                row.sort == Sort::Sign
            }
            What::Stopped(why) => {
                let lost = why == Why::Hit || self.until(j).lost_in_cut();
                let in_cut = row.is_codes_of_pass() && self.until(j).cutting().is_some();
                row.sort == Sort::Sign || in_cut || lost && self.depends_on_position(row)
            }
            What::FoundBad(at) => {
                at == of
                    || rests(self.row(at).id)
                    || row.sort == Sort::Sign
                    || self.depends_on_position(row)
            }
            What::Explained { lost } => lost && self.depends_on_position(row),
            What::CutEnded { how, at } => {
                let surface = how == How::Finished && rests("surface") && at != of;
                (row.sort == Sort::Sign || row.is_codes_of_pass()) && how != How::Finished
                    || (how == How::Emergency || self.until(j).lost_in_cut())
                        && self.depends_on_position(row)
                    || surface
            }
            What::ProgramInvalidated => {
                row.sort == Sort::Sign || row.sort == Sort::Program || rests("nc")
            }
            What::Typed { .. }
            | What::Signed { .. }
            | What::Released { .. }
            | What::Started { .. }
            | What::Assumed { .. }
            | What::List(_)
            | What::PutBack
            | What::Left => false,
        }
    }

    fn operator_before(&self, j: usize) -> u8 {
        self.until(j).operator()
    }

    /// The list before entry `j`.
    fn until(&self, j: usize) -> Self {
        Self {
            list: self.list[..j].to_vec(),
            ..self.clone()
        }
    }

    /// Whether the cause of a stop is not recorded yet.
    pub fn unexplained(&self) -> bool {
        let mut open = false;
        for (_, what) in &self.list {
            match what {
                What::Stopped(Why::NotSaid)
                | What::CutEnded {
                    how: How::Stopped(Why::NotSaid),
                    ..
                } => open = true,
                What::Explained { .. } => open = false,
                _ => {}
            }
        }
        open
    }

    /// Whether the machine is out of service: the bad state was seen after it was last put back.
    pub fn out_of_service(&self) -> bool {
        let mut out = false;
        for (_, what) in &self.list {
            match what {
                What::FoundBad(_) => out = true,
                What::PutBack => out = false,
                _ => {}
            }
        }
        out
    }

    /// Whether a person may put the machine back: anybody in a shop without a list, otherwise a trainer, and nobody in
    /// a run with an answer from a file.
    pub fn may_put_back(&self, by: u8) -> bool {
        let who = usize::from(by);
        let may = self
            .people()
            .is_none_or(|now| now.listed[who] && now.teaches[who]);
        may && !self.any_from_file()
    }

    /// Whether the run was resumed during the cut under way with a machine that may have changed.
    pub fn lost_in_cut(&self) -> bool {
        let start = self
            .list
            .iter()
            .rposition(|(_, w)| matches!(w, What::Started { .. }));
        let since = &self.list[start.unwrap_or(0)..];
        let lost = |w: &What| {
            matches!(
                w,
                What::TakenUp {
                    kept: Some(false),
                    ..
                }
            )
        };
        self.cutting().is_some() && since.iter().any(|(_, w)| lost(w))
    }

    /// Whether there is a valid answer, or a part of one, that depends on the machine's position.
    pub fn has_position(&self) -> bool {
        let marked = |row: &usize| self.table.rows[*row].after_stop;
        let mut rows = (0..self.table.rows.len()).filter(marked);
        rows.any(|row| {
            let at = Spot { row, pass: 0 };
            self.stands(at).is_some() || self.typed(at) != (None, None, false)
        })
    }

    /// What was typed at a codes row and is not complete: the offset, the rotation, and whether a reason was given for it.
    pub fn typed(&self, of: Spot) -> (Option<u8>, Option<bool>, bool) {
        let mut so_far = (None, None, false);
        for (j, (_, what)) in self.list.iter().enumerate() {
            match what {
                What::Typed { at, line, reason } if *at == of => {
                    so_far = added(so_far, line, *reason);
                }
                What::Said { at, .. } if *at == of => so_far = (None, None, false),
                _ if self.disturbs(j, of) => so_far = (None, None, false),
                _ => {}
            }
        }
        so_far
    }

    /// The codes at a row with another line, and whether they have a reason.
    pub fn with_line(
        &self,
        at: Spot,
        line: &str,
        reason: bool,
    ) -> (Option<u8>, Option<bool>, bool) {
        added(self.typed(at), line, reason)
    }

    /// Why codes do not pass: not the program's offset, not what was read before, or rotation on without a reason.
    pub fn codes_differ(&self, at: Spot, offset: Option<u8>, rotation: Option<bool>) -> bool {
        let Some(Val::File(file)) = self.stands(self.spot("nc", 0)) else {
            return true;
        };
        let other = |read: u8| offset.is_some_and(|o| o != read);
        let before = match self.stands(self.spot("control", 0)) {
            Some(Val::Codes(before, turned)) if self.row(at).id != "control" => {
                other(before) || rotation.is_some_and(|r| r != turned)
            }
            _ => false,
        };
        other(offset_by_hand(file)) || before
    }

    fn depends_on_position(&self, row: &Row) -> bool {
        let marked = |id: &&str| self.table.rows.iter().any(|r| r.id == *id && r.after_stop);
        row.after_stop || row.rests_on.iter().any(marked)
    }

    /// The valid answer at `of`, of any age and by any person.
    pub fn stands(&self, of: Spot) -> Option<Val> {
        let (i, val, ..) = self.last(of)?;
        (i + 1..self.list.len())
            .all(|j| !self.disturbs(j, of))
            .then_some(val)
    }

    /// Whether the valid answer there has a reason.
    pub fn with_reason(&self, of: Spot) -> bool {
        self.stands(of).is_some() && self.last(of).is_some_and(|(.., reason)| reason)
    }

    /// The age of entry `i` in minutes; `None` where the clock went back at any time since.
    pub fn age(&self, i: usize, now: i64) -> Option<i64> {
        let mut before = self.list[i].0;
        for (at, _) in &self.list[i..] {
            if *at < before {
                return None;
            }
            before = *at;
        }
        (now >= before).then(|| now - self.list[i].0)
    }

    /// The next cut, if there is one.
    pub fn next_cut(&self) -> Option<Spot> {
        for pass in 1..=self.table.most_passes {
            let cut = self.find(Sort::Cut, Group::Rough, pass);
            if !self.finished(cut) {
                return Some(cut);
            }
            let look = self.find(Sort::Look, Group::Rough, pass);
            match self.stands(look) {
                Some(Val::Word("skin left")) => {}
                Some(_) => return self.finishing_cut(),
                None => return None,
            }
        }
        None
    }

    fn finishing_cut(&self) -> Option<Spot> {
        if !self.table.rows.iter().any(|r| r.group == Group::Finish) {
            return None;
        }
        let cut = self.find(Sort::Cut, Group::Finish, 1);
        (!self.finished(cut)).then_some(cut)
    }

    /// Everything that must be answered before a spot, in its pass.
    fn before(&self, of: Spot) -> Vec<Spot> {
        let group = self.row(of).group;
        let mut found = Vec::new();
        for row in 0..of.row {
            match self.table.rows[row].group {
                Group::Once => found.push(Spot { row, pass: 0 }),
                g if g == group => found.push(Spot { row, pass: of.pass }),
                _ => {}
            }
        }
        found
    }

    /// The first reason why an answer before `of` is missing or not valid, without signatures.
    pub fn not_ready(&self, of: Spot, now: i64) -> Option<Reason> {
        for spot in self.before(of) {
            let row = self.row(spot);
            if row.sort == Sort::Sign {
                continue;
            }
            let Some(val) = self.stands(spot) else {
                return Some("a question is not answered, or no longer");
            };
            let (i, _, by, reason) = self.last(spot)?;
            if row.of_person && by != self.operator() {
                return Some("answered by somebody else");
            }
            if let Some(fresh) = row.fresh
                && self.age(i, now).is_none_or(|age| age > fresh)
            {
                return Some("not fresh");
            }
            if let Some(why) = self.out_of_limits(spot, val, reason) {
                return Some(why);
            }
        }
        None
    }

    fn out_of_limits(&self, spot: Spot, val: Val, reason: bool) -> Option<Reason> {
        let said = |id: &str| self.stands(self.spot(id, spot.pass));
        if let Val::Codes(offset, rotation) = val {
            if self.codes_differ(spot, Some(offset), Some(rotation)) {
                return Some("the codes are not those of the program, or changed");
            }
            return (rotation && !reason).then_some("a code that endangers without a reason");
        }
        let Val::Um(number) = val else { return None };
        let [least, most, low, high] = (self.table.limits)(&said, self.row(spot).id)?;
        if number < least || number > most {
            return Some("beyond a hard limit");
        }
        ((number < low || number > high) && !reason)
            .then_some("beyond a soft limit without a reason")
    }

    /// Whether a number is accepted only with a reason.
    pub fn wants_reason(&self, spot: Spot, number: i64) -> bool {
        self.out_of_limits(spot, Val::Um(number), false).is_some()
            && !self.breaks_hard(spot, number)
    }

    /// Whether the number is beyond a hard limit.
    pub fn breaks_hard(&self, spot: Spot, number: i64) -> bool {
        self.out_of_limits(spot, Val::Um(number), true).is_some()
    }

    /// The right value of a computed row.
    pub fn worked(&self, spot: Spot) -> Option<i64> {
        let said = |id: &str| self.stands(self.spot(id, spot.pass));
        (self.table.worked)(&said, self.row(spot).id, self.surface())
    }

    /// The plate's height by hand: zero at the last touch-off, lowered to each plane cut since.
    pub fn surface(&self) -> i64 {
        let mut height = 0;
        for (j, (_, what)) in self.list.iter().enumerate() {
            match what {
                What::Said {
                    val: Val::Touches, ..
                } => height = 0,
                What::CutEnded {
                    at,
                    how: How::Finished,
                } => {
                    let plane = self.spot(self.plane_of(*at), at.pass);
                    if let Some((_, Val::Um(plane), ..)) = self.last_before(plane, j) {
                        height = height.min(plane);
                    }
                }
                _ => {}
            }
        }
        height
    }

    /// The row with the plane of a cut.
    pub fn plane_of(&self, cut: Spot) -> &'static str {
        if self.row(cut).group == Group::Rough {
            "plane"
        } else {
            "finish_plane"
        }
    }

    /// Whether the operator signed the next cut after the last change.
    pub fn signed(&self) -> bool {
        let Some(cut) = self.next_cut() else {
            return false;
        };
        let sign = self.find(Sort::Sign, self.row(cut).group, cut.pass);
        let mut signed = false;
        for (j, (_, what)) in self.list.iter().enumerate() {
            match what {
                What::Signed { at, by, .. } if *at == sign => signed = *by == self.operator(),
                _ if self.disturbs(j, sign) => signed = false,
                _ => {}
            }
        }
        signed
    }

    /// The present list of people, where there is one.
    fn people(&self) -> Option<&'static ByHand> {
        let mut list = 0;
        for (_, what) in &self.list {
            if let What::List(to) = what {
                list = *to;
            }
        }
        self.signers.then_some(&BY_HAND[usize::from(list)])
    }

    /// Why the signatures for the next cut are not enough. It needs the operator's, and for a learner also one of
    /// another person who is a trainer; both on the list, with their present keys.
    pub fn wrong_signatures(&self) -> Option<Reason> {
        let now = self.people()?;
        if !now.listed[usize::from(self.operator())] {
            return Some("the operator is not on the list");
        }
        let cut = self.next_cut()?;
        let sign = self.find(Sort::Sign, self.row(cut).group, cut.pass);
        let signed = |what: &What| match what {
            What::Signed { at, by, second } if *at == sign => Some((*by, *second)),
            _ => None,
        };
        let last = self.list.iter().rposition(|(_, w)| signed(w).is_some());
        let Some(j) = last else {
            return Some("nobody signed");
        };
        let (by, second) = signed(&self.list[j].1)?;
        self.will_not_do(by, second, self.until(j).people()?)
    }

    /// Why signatures by these people, given with the list `then`, are not valid now.
    pub fn will_not_do(&self, by: u8, second: Option<u8>, then: &ByHand) -> Option<Reason> {
        let now = self.people()?;
        let gone = |who: usize| !now.listed[who] || now.key[who] != then.key[who];
        let first = usize::from(by);
        if gone(first) {
            return Some("a signer is retired or has another key");
        }
        if self.taught && !now.teaches[first] {
            return Some("a trainer must sign the hold point");
        }
        let Some(second) = second.map(usize::from) else {
            return (!now.alone[first]).then_some("a learner signed alone");
        };
        if second == first {
            return Some("one person signed twice");
        }
        if gone(second) {
            return Some("the second signer is retired or has another key");
        }
        // For a learner they sign as a trainer, for others in any role.
        (!then.alone[first] && !now.teaches[second])
            .then_some("the second signer is no longer a trainer")
    }

    /// Whether a person may take the run over. In these worlds every trainer is an owner too.
    pub fn may_take_over(&self, by: u8) -> bool {
        let who = usize::from(by);
        self.people()
            .is_some_and(|now| now.listed[who] && now.teaches[who])
    }

    /// Why these people cannot sign now.
    pub fn may_not_sign(&self, by: u8, second: Option<u8>) -> Option<Reason> {
        self.will_not_do(by, second, self.people()?)
    }

    /// The first and second signer of the last sign-off, and the list at that time.
    #[allow(clippy::type_complexity)] // a row of the naive table
    pub fn last_signed(&self) -> Option<(u8, Option<u8>, [bool; 2], [u8; 2])> {
        let j = self
            .list
            .iter()
            .rposition(|(_, w)| matches!(w, What::Signed { .. }))?;
        let What::Signed { by, second, .. } = self.list[j].1 else {
            return None;
        };
        let then = self.until(j).people()?;
        Some((by, second, then.alone, then.key))
    }

    /// The release that is not used up and that nothing except time has ended: its index in the list, the cut and the
    /// person.
    pub fn release(&self) -> Option<(usize, Spot, u8)> {
        let mut release = None;
        for (i, (_, what)) in self.list.iter().enumerate() {
            release = match what {
                What::Released { at, to } => Some((i, *at, *to)),
                // This changes the list of people, not the run.
                What::List(_) => release,
                _ => None,
            };
        }
        release
    }

    /// The number of releases since the last start.
    pub fn unused_releases(&self) -> usize {
        let start = self
            .list
            .iter()
            .rposition(|(_, w)| matches!(w, What::Started { .. }));
        let since = &self.list[start.map_or(0, |i| i + 1)..];
        since
            .iter()
            .filter(|(_, w)| matches!(w, What::Released { .. }))
            .count()
    }

    /// Whether any answer came from a file.
    pub fn any_from_file(&self) -> bool {
        self.list
            .iter()
            .any(|(_, w)| matches!(w, What::TakenUp { file: true, .. }))
    }

    /// Whether the answers come from a file now.
    pub fn reads_file(&self) -> bool {
        let taken_up = self.list.iter().rev().find_map(|(_, w)| match w {
            What::TakenUp { file, .. } => Some(*file),
            _ => None,
        });
        taken_up == Some(true)
    }

    /// Why a cut must not be assumed.
    pub fn no_assumed_cut(&self, now: i64, file: u8) -> Option<Reason> {
        if !self.reads_file() {
            return Some("the answers come from a person");
        }
        self.not_cleared(now, file)
    }

    /// Why cycle start must not be released.
    pub fn no_release(&self, now: i64, file: u8) -> Option<Reason> {
        if self.any_from_file() {
            return Some("an answer came from a file");
        }
        self.not_cleared(now, file)
    }

    /// Why nothing may be cut next, for answers from any origin.
    fn not_cleared(&self, now: i64, file: u8) -> Option<Reason> {
        let Some(cut) = self.next_cut() else {
            return Some("no cut is next");
        };
        if self.rehearsal {
            return Some("a rehearsal");
        }
        if self.left() {
            return Some("the run was left");
        }
        if self.cutting().is_some() {
            return Some("a cut is under way");
        }
        if self.out_of_service() {
            return Some("the machine is out of service");
        }
        if self.unexplained() {
            return Some("nobody said why it was stopped");
        }
        if self.list.last().is_some_and(|(at, _)| now < *at) {
            return Some("the clock went back");
        }
        if let Some(why) = self.not_ready(cut, now) {
            return Some(why);
        }
        let examined = self.table.rows.iter().position(|r| r.sort == Sort::Program);
        let examined = examined.and_then(|row| self.stands(Spot { row, pass: 0 }));
        if examined.is_some_and(|val| val != Val::File(file)) {
            return Some("the program is not the one examined");
        }
        if !self.signed() {
            return Some("not signed after the last change");
        }
        self.wrong_signatures()
    }

    /// Why cycle start must not be pressed.
    pub fn no_start(&self, now: i64, file: u8) -> Option<Reason> {
        if let Some(why) = self.no_release(now, file) {
            return Some(why);
        }
        let Some((i, at, to)) = self.release() else {
            return Some("not released");
        };
        if Some(at) != self.next_cut() || to != self.operator() {
            return Some("released for another cut or to somebody else");
        }
        match self.age(i, now) {
            Some(age) if age <= self.table.release_for => None,
            _ => Some("the release lapsed"),
        }
    }

    /// Why cycle start is not released for another terminal that asks. A release that was once seen as lapsed stays
    /// lapsed, and a time seen that is later than now proves that the clock went back.
    pub fn no_start_elsewhere(&self, now: i64, file: u8) -> Option<Reason> {
        if let Some(why) = self.no_start(now, file) {
            return Some(why);
        }
        let (i, ..) = self.release()?;
        let lapsed = |at: i64| at - self.list[i].0 > self.table.release_for;
        if self.asked_since(i).any(lapsed) {
            return Some("somebody saw that the release lapsed");
        }
        self.asked_since(i)
            .any(|at| at > now)
            .then_some("the clock went back since somebody asked")
    }

    /// The minutes at which another terminal asked since entry `i`.
    fn asked_since(&self, i: usize) -> impl Iterator<Item = i64> + '_ {
        let since = self.asked.iter().filter(move |(length, _)| *length > i);
        since.map(|(_, at)| *at)
    }

    /// The latest minute at which another terminal asked since the present release.
    pub fn last_asked(&self) -> Option<i64> {
        let (i, ..) = self.release()?;
        self.asked_since(i).max()
    }

    /// Whether everything is done.
    pub fn complete(&self) -> bool {
        let clean = (1..=self.table.most_passes).any(|pass| {
            let cut = self.find(Sort::Cut, Group::Rough, pass);
            let look = self.find(Sort::Look, Group::Rough, pass);
            self.finished(cut) && self.stands(look) == Some(Val::Word("clean"))
        });
        let last = self
            .table
            .rows
            .iter()
            .rposition(|r| r.sort == Sort::Cut || r.sort == Sort::Look)
            .unwrap();
        let closing = last + 1..self.table.rows.len();
        clean
            && self.next_cut().is_none()
            && self.cutting().is_none()
            && !self.unexplained()
            && !self.out_of_service()
            && closing
                .into_iter()
                .all(|row| self.stands(Spot { row, pass: 0 }).is_some())
    }
}

/// Codes typed so far, with another line. A line that names both groups again stands for itself.
fn added(
    (offset, rotation, reason): (Option<u8>, Option<bool>, bool),
    line: &str,
    with_reason: bool,
) -> (Option<u8>, Option<bool>, bool) {
    let (new_offset, new_rotation) = line_by_hand(line);
    let both = offset.and(new_offset).is_some() && rotation.and(new_rotation).is_some();
    let rotation = if both {
        new_rotation
    } else {
        new_rotation.or(rotation)
    };
    let offset = new_offset.or(offset);
    let kept = reason && !both || with_reason;
    (offset, rotation, kept && rotation == Some(true))
}
