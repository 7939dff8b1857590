//! The digest of the state, which a sign-off covers.

use super::answer::Origin;
use super::instance::Instance;
use super::state::State;
use crate::fingerprint::Fingerprint;

impl State {
    /// The digest of everything before `at` in the sequence: procedure, shop file, machine, operator, every answer with
    /// its person and time, every accepted soft limit, and the reasons for sharing a plate or a person with another
    /// open run. Any change to any of these gives another digest.
    pub fn digest_before(&self, at: &Instance) -> Fingerprint {
        let b = &self.begun;
        let head = [
            "skimgate state 1",
            &b.run,
            &b.procedure.to_string(),
            &b.shop.to_string(),
            &b.machine,
            &self.operator,
            if b.rehearsal { "rehearsal" } else { "real" },
        ];
        let mut builder = Fingerprint::builder();
        for field in head {
            builder = builder.field(field);
        }
        if let Some(known) = &self.known {
            builder = builder
                .field("plate known")
                .field(&known.plate)
                .field(known.thickness.counts().to_string())
                .field(known.steel_depth.counts().to_string())
                .field(known.entry.to_string());
        }
        for also in &self.also_in_use {
            // This cannot fail, as for an answer below.
            let also = serde_json::to_string(also).unwrap_or_default();
            builder = builder.field("also in use").field(also);
        }
        for place in self.asked() {
            let of = place.instance();
            if of == *at {
                break;
            }
            let Some(given) = self.answers.get(&of) else {
                builder = builder.field(of.to_string()).field("no answer");
                continue;
            };
            // Serialising can only fail for maps whose keys are not strings, and an answer has none.
            let answer = serde_json::to_string(&given.answer).unwrap_or_default();
            builder = builder
                .field(of.to_string())
                .field(answer)
                .field(&given.by)
                .field(given.at.to_string());
            if let Some(seen) = &given.seen {
                builder = builder
                    .field("stands from")
                    .field(&seen.run)
                    .field(seen.at.to_string())
                    .field(&seen.by);
            }
            if given.from == Origin::Program {
                builder = builder.field("from program");
            }
            if let Some(deviation) = self.deviations.get(&of) {
                builder = builder
                    .field("accepted")
                    .field(&deviation.limit)
                    .field(&deviation.reason)
                    .field(&deviation.by);
            }
        }
        builder.finish()
    }
}
