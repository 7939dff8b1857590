//! What the heights of a whole program come to, judged at its end.

use super::height::{Height, SAME};
use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::setup::Plate;

/// How much metal is taken to stand above the lowest cut where nobody says: 0.5 mm (ours; a skim is a few tenths).
const STOCK: f64 = 0.5;

impl Height {
    /// Where metal may begin: as said, or the lowest cut and what a pass takes.
    pub fn top(&self) -> Option<f64> {
        let stock = self
            .setup
            .cutter
            .and_then(|c| c.deepest_bite)
            .unwrap_or(STOCK);
        self.setup
            .stock_top
            .or_else(|| self.lowest_cut.z.map(|z| z + stock))
    }

    /// Judges all of it.
    pub fn end(&self, found: &mut Found) {
        let Some(lowest) = self.lowest_cut.z else {
            return;
        };
        let top = self.top().unwrap_or(lowest);
        if let Some(said) = self.setup.lowest_z
            && (said - lowest).abs() > SAME
        {
            found.add("depth", self.lowest_cut.at.at(), None, || {
                format!("Z{lowest:.3}, said Z{said:.3}")
            });
        }
        if let Some(stock) = self.setup.stock_top {
            if lowest >= stock - SAME {
                found.add("air", self.lowest_cut.at.at(), None, || {
                    format!("lowest Z{lowest:.3}, top of the stock Z{stock:.3}")
                });
            }
            self.bite(stock, found);
        }
        if let Some(z) = self.across.z
            && z <= top + SAME
        {
            found.add("rapid-low", self.across.at.at(), None, || {
                format!("at Z{z:.3}, metal up to Z{top:.3}")
            });
        }
        if let Some(z) = self.plunge.z
            && z <= top + SAME
        {
            found.add("rapid-plunge", self.plunge.at.at(), None, || {
                format!("to Z{z:.3}, metal up to Z{top:.3}")
            });
        }
        if let Some(z) = self.dip.z
            && z <= top + 1.0
        {
            found.add("rapid-dip", self.dip.at.at(), None, || {
                format!("to Z{z:.3}")
            });
        }
        self.ways_down(top, found);
        if let Fact::Known(z) = self.last_z
            && z <= top + SAME
        {
            found.whole("end-low", format!("at Z{z:.3}"));
        }
    }

    fn bite(&self, stock: f64, found: &mut Found) {
        let Some(most) = self.setup.cutter.and_then(|c| c.deepest_bite) else {
            return;
        };
        #[allow(clippy::cast_precision_loss)]
        let levels = self.levels.iter().rev().map(|l| *l as f64 / 10_000.0);
        let mut above = stock;
        for z in levels.filter(|z| *z < stock) {
            if above - z > most + SAME {
                found.add("bite", self.lowest_cut.at.at(), None, || {
                    format!(
                        "{:.3} mm from Z{above:.3} to Z{z:.3}, the cutter takes {most:.3}",
                        above - z
                    )
                });
                return;
            }
            above = z;
        }
    }

    fn ways_down(&self, top: f64, found: &mut Found) {
        let (Some(plate), Some(cutter)) = (self.setup.plate, self.setup.cutter) else {
            return;
        };
        for down in self.downs.iter().filter(|d| d.z <= top + SAME) {
            let over = [down.from, down.to]
                .into_iter()
                .find(|p| meets(plate, *p, cutter.diameter / 2.0));
            let (Some(place), false) = (over, down.straight) else {
                if let Some([x, y]) = over {
                    found.add("plunge", down.at.at(), None, || {
                        format!("at X{x:.3} Y{y:.3} to Z{:.3}", down.z)
                    });
                }
                continue;
            };
            found.add("start-over-plate", down.at.at(), None, || {
                format!("at X{:.3} Y{:.3} to Z{:.3}", place[0], place[1], down.z)
            });
        }
    }
}

/// Whether a disc meets the plate; not where its place is unknown.
fn meets(plate: Plate, at: [f64; 2], radius: f64) -> bool {
    let Some(corner) = plate.corner else {
        return false;
    };
    let mut squares = 0.0;
    for ((place, corner), size) in at.iter().zip(corner).zip(plate.size) {
        let outside = (corner - place).max(place - (corner + size)).max(0.0);
        squares += outside * outside;
    }
    squares < radius * radius
}
