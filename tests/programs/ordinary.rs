//! No ordinary program is stopped, and almost none needs a look.

use crate::setting::{dialect, setup, studied_by};
use crate::styles;
use skimgate::program::rules::Grade;

/// The looks that ordinary programs get, each with the reason why a person should check it.
const DEFENDED: &[(&str, &str, &str)] = &[];

#[test]
fn no_ordinary_program_is_stopped() {
    let all = styles::all();
    assert!(all.len() >= 40, "{}", all.len());
    let dialect = skimgate::program::dialect::Dialect {
        harmless: vec![62],
        ..dialect()
    };
    let mut wrong = Vec::new();
    let mut looks = Vec::new();
    for (name, text) in &all {
        let study = studied_by(text, &setup(), &dialect);
        for finding in &study.examination.findings {
            let code = finding.rule.code;
            match finding.rule.grade {
                Grade::Stop => wrong.push(format!("{name}: stop {code}: {:?}", finding.detail)),
                Grade::Look => looks.push((*name, code)),
                Grade::Note => {}
            }
        }
        if study.uncovered() != Some(0.0) {
            wrong.push(format!("{name}: not reached {:?}", study.uncovered()));
        }
    }
    for (name, code) in &looks {
        if !DEFENDED
            .iter()
            .any(|(n, c, why)| n == name && c == code && !why.is_empty())
        {
            wrong.push(format!("{name}: look {code}"));
        }
    }
    for (name, code, _) in DEFENDED {
        assert!(
            looks.contains(&(*name, *code)),
            "{name} no longer gets {code}"
        );
    }
    assert!(looks.len() <= 8, "{looks:?}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
