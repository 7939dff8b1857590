//! A machine of the shop file as the time of a program needs it.

use crate::procedure::shop::Item;
use crate::program::setting::PathMode;
use crate::program::time::Dynamics;
use crate::program::time::dynamics::USUAL_CORNER;
use crate::quantity::Quantity;

/// A quantity in base units: millimetres and seconds.
fn base(quantity: Quantity) -> f64 {
    quantity.amount.to_f64()
}

/// The machine's figures; nothing where the shop file does not give its motion.
pub(crate) fn dynamics(machine: &Item) -> Option<Dynamics> {
    let motion = machine.motion.as_ref()?;
    let value = |key: &str| motion.quantity(key).map(base);
    let axes = |what: &str| {
        let axis = |name: &str| value(&format!("{name} {what}"));
        Some([axis("x")?, axis("y")?, axis("z")?])
    };
    Some(Dynamics {
        acceleration: axes("acceleration")?,
        rapid: axes("rapid")?,
        highest_feed: machine.quantity("highest_feed").map(base),
        path: match motion.word("path mode") {
            Some("exact stop") => PathMode::ExactStop,
            Some("exact path") => PathMode::ExactPath,
            _ => PathMode::Continuous(None),
        },
        corner: value("corner tolerance").unwrap_or(USUAL_CORNER),
        block_rate: value("block time").map(f64::recip),
        tool_change: value("tool change").unwrap_or_default(),
        spin_up: value("spin-up").unwrap_or_default(),
    })
}

#[cfg(test)]
#[allow(clippy::float_cmp)]
mod tests {
    use super::dynamics;
    use crate::diagnostics::Findings;
    use crate::procedure::{ShopList, shop};
    use crate::program::setting::PathMode;

    const SHOP: &str = include_str!("../../../checklists/shop.yaml");

    // The figures of the invented shop file, by hand: 6000 mm/min is 100 mm/s, 4 ms a block is 250 blocks a second.
    #[test]
    fn the_motion_of_a_machine_comes_in_millimetres_and_seconds() {
        let shop = shop::read(SHOP, &mut Findings::default()).unwrap();
        let found = dynamics(shop.item(ShopList::Machines, "mill-a").unwrap()).unwrap();
        assert_eq!(found.acceleration, [600.0, 600.0, 400.0]);
        assert!((found.rapid[0] - 100.0).abs() < 1e-9);
        assert!((found.block_rate.unwrap() - 250.0).abs() < 1e-9);
        assert_eq!((found.tool_change, found.spin_up), (15.0, 3.0));
        assert_eq!(found.path, PathMode::Continuous(None));
        assert!(found.is_sound());
        assert_eq!(
            dynamics(shop.item(ShopList::Machines, "mill-b").unwrap()),
            None
        );
    }
}
