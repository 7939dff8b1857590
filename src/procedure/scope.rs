//! The meaning of the names in the formulas of one step.

use super::facts::Fact;
use super::formula::BuiltIn;
use super::formula::ast::Reference;
use super::formula::check::{Names, Type, Unknown};
use super::model::{Codes, ShopList};
use super::notes::Notes;
use crate::diagnostics::nearest;
use crate::program::active::ActiveGroup;
use crate::quantity::Dimension;
use std::collections::BTreeMap;

/// What is known about a step when later ones are checked.
pub(crate) struct KnownStep {
    /// The index among all steps.
    pub index: usize,
    /// The kind of its answer in formulas; `None` where formulas cannot use it, or where it is not known yet.
    pub kind: Option<Type>,
    /// The word for its kind of step.
    pub word: &'static str,
    /// The pass that it repeats with.
    pub each: Option<String>,
    /// The condition under which it is asked.
    pub when: Option<String>,
    /// The shop list that it chooses from.
    pub list: Option<ShopList>,
    /// The groups of codes that it must show; empty for every step but a codes step.
    pub shows: Vec<ActiveGroup>,
}

/// The names that can be used at one step.
pub(crate) struct Scope<'a> {
    /// Every step by its id.
    pub known: &'a BTreeMap<String, KnownStep>,
    /// This step's index among all steps.
    pub index: usize,
    /// This step's id.
    pub id: &'a str,
    /// The pass that it repeats with.
    pub each: Option<&'a str>,
    /// The condition under which it is asked.
    pub when: Option<&'a str>,
    /// The kind of `value`, where this step's limits may use it.
    pub own: Option<Type>,
    /// The reader's notes. A formula that names a step which could not be read is not reported.
    pub notes: &'a Notes,
}

fn unknown(message: impl Into<String>, help: impl Into<String>) -> Unknown {
    Unknown {
        message: message.into(),
        help: Some(help.into()),
    }
}

impl Scope<'_> {
    /// The kind of a fact of the chosen machine, plate or cutter.
    fn fact(&self, list: ShopList, tail: Option<&str>) -> Result<Type, Unknown> {
        let one = list.one();
        let chosen = self.known.values().find(|k| k.list == Some(list));
        match chosen {
            // The step that chooses it may be one that could not be read.
            None if self.notes.incomplete => return Err(Unknown::reported()),
            None => {
                return Err(unknown(
                    format!("no step chooses the {one}"),
                    format!("add a step `- choose: {one}` with `from: {}`", list.key()),
                ));
            }
            Some(k) if k.index >= self.index => {
                return Err(unknown(
                    format!("the {one} is chosen only later"),
                    "move the choice up, or this step down",
                ));
            }
            Some(_) => {}
        }
        let facts = || {
            list.facts()
                .iter()
                .filter(|f| f.type_in_formulas().is_some())
        };
        let names: Vec<String> = facts().map(Fact::name).collect();
        let Some(tail) = tail else {
            return Err(unknown(
                format!("which fact of the {one}?"),
                format!(
                    "write for instance `{one}.{}`",
                    names.first().map_or("", String::as_str)
                ),
            ));
        };
        match list.fact(tail).and_then(Fact::type_in_formulas) {
            Some(found) => Ok(found),
            None => Err(unknown(
                format!("a {one} has no fact `{tail}`"),
                match nearest(tail, names.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{one}.{near}`?"),
                    None => format!("its facts are: {}", names.join(", ")),
                },
            )),
        }
    }

    fn touched_before(&self, what: &str) -> Result<Type, Unknown> {
        let touched = self
            .known
            .values()
            .any(|k| k.word == "touch" && k.index < self.index);
        if touched {
            Ok(Type::Quantity(Dimension::LENGTH))
        } else if self.notes.incomplete {
            Err(Unknown::reported())
        } else {
            Err(unknown(
                format!("`{what}` is known only after a touch step"),
                "move this step below the first touch step",
            ))
        }
    }

    fn built_in(&self, name: BuiltIn) -> Result<Type, Unknown> {
        match name {
            BuiltIn::Value => self.own.clone().ok_or_else(|| {
                unknown(
                    "`value` is the step's own value, and is known only in its limits",
                    "name another step, or use it in `must` and `expect`",
                )
            }),
            BuiltIn::SurfaceHighest
            | BuiltIn::SurfaceLowest
            | BuiltIn::SurfaceSpread
            | BuiltIn::ZeroHeight
            | BuiltIn::ZeroMachine => self.touched_before(&name.to_string()),
            BuiltIn::PassNumber if self.each.is_some() => Ok(Type::Quantity(Dimension::RATIO)),
            BuiltIn::PassNumber => Err(unknown(
                "`pass.number` is known only inside a repeating phase",
                "give the phase `each:`, or leave the number out",
            )),
        }
    }

    fn step(&self, id: &str) -> Result<Type, Unknown> {
        self.step_where(id, self.when)
    }

    /// The kind of the earlier step `id`, used where the condition `own` is true.
    fn step_where(&self, id: &str, own: Option<&str>) -> Result<Type, Unknown> {
        let known = self.earlier_where(id, own)?;
        match &known.kind {
            Some(kind) => Ok(kind.clone()),
            None if known.word == "work out" => Err(Unknown::reported()),
            None if !known.shows.is_empty() => Err(unknown(
                format!("which group of `{id}`?"),
                format!(
                    "write for instance `{id}.{}`",
                    known.shows.first().map(|g| g.name()).unwrap_or_default()
                ),
            )),
            None => Err(unknown(
                format!(
                    "the answer of a {} step cannot be used in a formula",
                    known.word
                ),
                "name a step that gives a number or one of its listed words",
            )),
        }
    }

    /// The kind of a group that a codes step shows.
    fn group(&self, id: &str, tail: &str) -> Result<Type, Unknown> {
        let known = self.earlier(id)?;
        let shown: Vec<String> = known.shows.iter().map(|g| g.name()).collect();
        let Some(group) = ActiveGroup::named(tail) else {
            return Err(unknown(
                format!("`{id}` shows no `{tail}`"),
                match nearest(tail, shown.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{id}.{near}`?"),
                    None => format!("it shows: {}", shown.join(", ")),
                },
            ));
        };
        if !Codes::knows(&known.shows, group) {
            return Err(unknown(
                format!("`{id}` need not show `{tail}`"),
                format!("add `{}` to its `must show`", group.word()),
            ));
        }
        Ok(match group.row().number {
            Some((_, dimension)) => Type::Quantity(dimension),
            None => Type::Words(group.values()),
        })
    }

    /// An earlier step that is always asked where this one is.
    fn earlier(&self, id: &str) -> Result<&KnownStep, Unknown> {
        self.earlier_where(id, self.when)
    }

    /// The earlier step `id`, used where the condition `own` is true.
    fn earlier_where(&self, id: &str, own: Option<&str>) -> Result<&KnownStep, Unknown> {
        let Some(known) = self.known.get(id) else {
            if self.notes.is_lost(id) {
                return Err(Unknown::reported());
            }
            let ids = self.known.iter().filter(|(_, k)| k.index < self.index);
            let ids = ids.map(|(id, _)| id.as_str());
            let built_in = ["surface", "zero", "pass", "machine", "plate", "cutter"];
            return Err(unknown(
                format!("`{id}` is not known here"),
                match nearest(id, ids.chain(built_in)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "names are ids of earlier steps, and machine, plate, cutter, surface, \
                             zero, pass with a fact behind a dot"
                        .to_owned(),
                },
            ));
        };
        if id == self.id {
            return Err(unknown(
                format!("`{id}` depends on itself"),
                "in limits write `value` for the step's own value",
            ));
        }
        if known.index > self.index {
            return Err(unknown(
                format!("`{id}` is asked only later"),
                "a formula can use only steps above it",
            ));
        }
        if let Some(when) = &known.when
            && !own.is_some_and(|own| own.contains(when.as_str()))
        {
            return Err(unknown(
                format!("`{id}` is not always asked"),
                format!(
                    "give this step the same condition, `when: {when}`, or write `asked({id}, otherwise)`"
                ),
            ));
        }
        Ok(known)
    }
}

impl Names for Scope<'_> {
    fn kind_of(&self, name: &Reference) -> Result<Type, Unknown> {
        if let Some(found) = BuiltIn::find(name) {
            return self.built_in(found);
        }
        if BuiltIn::begins(&name.head) {
            let all = BuiltIn::ALL.map(|b| b.to_string()).join(", ");
            return Err(unknown(
                format!("`{name}` is not known here"),
                format!("the built-in names are: {all}"),
            ));
        }
        if let Some(list) = ShopList::of_one(&name.head) {
            return self.fact(list, name.tail.as_deref());
        }
        if let (Some(tail), Some(known)) = (&name.tail, self.known.get(&name.head))
            && !known.shows.is_empty()
        {
            return self.group(&name.head, tail);
        }
        let kind = self.step(&name.head)?;
        if name.tail.is_some() {
            return Err(unknown(
                format!("`{}` has no facts after a dot", name.head),
                format!(
                    "write `{}`, or a function of it such as `lowest({})`",
                    name.head, name.head
                ),
            ));
        }
        Ok(kind)
    }

    fn if_asked(&self, step: &str) -> Result<Type, Unknown> {
        // With the step's own condition, its value is always known where it is used.
        let when = self.known.get(step).and_then(|k| k.when.as_deref());
        self.step_where(step, when)
    }

    fn has_previous(&self, step: &str) -> Result<Type, Unknown> {
        let known = self.known.get(step).ok_or_else(|| {
            if self.notes.is_lost(step) {
                return Unknown::reported();
            }
            unknown(
                format!("`{step}` is not known here"),
                "name a step of the same pass",
            )
        })?;
        if known.each.as_deref() != self.each || self.each.is_none() {
            return Err(unknown(
                format!("`{step}` is not repeated with this step"),
                "`previous` asks for a step of the same repeating pass",
            ));
        }
        match &known.kind {
            Some(kind) => Ok(kind.clone()),
            // The step is a later one or this one. Its kind is that of the second argument.
            None => Ok(Type::Quantity(Dimension::LENGTH)),
        }
    }
}
