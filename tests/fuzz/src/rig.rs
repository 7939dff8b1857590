//! The small test procedure on the invented shop, and what is looked at in every state that a run comes to.

use skimgate::diagnostics::Findings;
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::event::{RunStart, TimedEvent};
use skimgate::interlock::{State, gate};
use skimgate::people::People;
use skimgate::procedure::{Procedure, Shop, read, shop};
use skimgate::quantity::UnitSystem;
use skimgate::quantity::moment::Moment;
use skimgate::report;
use std::sync::{Arc, OnceLock};

pub const PROCEDURE: &str = include_str!("../../procedures/small.yaml");
pub const SHOP: &str = include_str!("../../procedures/shop.yaml");

/// When the runs begin, in milliseconds since 1970.
pub const BEGUN: i64 = 1_800_000_000_000;

type Both = (Arc<Procedure>, Arc<Shop>);

fn both() -> &'static Both {
    static BOTH: OnceLock<Both> = OnceLock::new();
    BOTH.get_or_init(|| {
        let mut findings = Findings::default();
        let procedure = read::read(PROCEDURE, &mut findings).expect("the small procedure is sound");
        let shop = shop::read(SHOP, &mut findings).expect("the invented shop is sound");
        (Arc::new(procedure), Arc::new(shop))
    })
}

pub fn beginning(run: &str, rehearsal: bool) -> RunStart {
    RunStart {
        run: run.into(),
        rehearsal,
        answers_file: None,
        from: None,
        procedure: Fingerprint::of(PROCEDURE),
        procedure_id: "small".into(),
        procedure_version: "1".into(),
        shop: Fingerprint::of(SHOP),
        machine: "north".into(),
        operator: "JT".into(),
        unit: UnitSystem::Mm,
        tool: "test".into(),
    }
}

pub fn moment(ms: i64) -> Moment {
    Moment::from_ms(ms)
        .or_else(|| Moment::from_ms(BEGUN))
        .expect("a moment")
}

pub fn begin(rehearsal: bool) -> State {
    let (procedure, shop) = both();
    let begun = beginning("r1", rehearsal);
    State::new(
        Arc::clone(procedure),
        Arc::clone(shop),
        begun,
        moment(BEGUN),
    )
}

/// Everything that is looked at in a state, by the gate and by who reads the record.
pub fn look(state: &State, now: Moment) {
    let _ = state.next(now);
    for (place, standing) in state.answer_statuses(now) {
        let at = place.instance();
        let show = state.show_at(&at);
        assert!(!standing.words(&show).is_empty());
        if let Some(limits) = state.limits_of(&place) {
            let _ = state.limit_words(&at, limits, &show);
        }
    }
    for program in [None, state.program().map(|(.., fingerprint)| fingerprint)] {
        for looked in [
            gate::release(state, now, program, &People::default()),
            gate::start(
                state,
                now,
                program,
                &People::default(),
                gate::Requester::Holder,
            ),
        ] {
            match looked {
                Ok(_) => {
                    assert!(!state.begun.rehearsal && !state.from_file && state.ended.is_none());
                }
                Err(holds) => {
                    assert!(!holds.is_empty(), "held without a reason");
                    for hold in holds {
                        assert!(!hold.words(&state.show()).is_empty() && !hold.clears().is_empty());
                    }
                }
            }
        }
    }
}

/// The record as it is told.
pub fn tell(events: &[TimedEvent], state: &State) {
    let local = |at: Moment| at.to_string();
    let _ = report::run::page(events, state, &local);
    let _ = report::run::every_event(events, state, &local);
    let _ = report::json::run(events, state, "");
}
