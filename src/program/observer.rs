//! Who is told what a program does.

use super::fault::Fault;
use super::motion::{FileLocation, Motion, Straight};
use super::program_event::ProgramEvent;

/// Is told everything in the order of execution. Nothing is kept for it: what it needs later it copies.
pub trait Observer {
    /// One motion.
    fn motion(&mut self, motion: &Motion<'_>);

    /// A straight cut between known places. It must come to the same as its [`Straight::motion`]; who is asked often
    /// answers it in less time.
    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        self.motion(&cut.motion());
    }

    /// Something besides a motion.
    fn happening(&mut self, _happening: &ProgramEvent<'_>) {}

    /// Something wrong with the text, or that cannot be followed.
    fn fault(&mut self, _fault: &Fault, _at: FileLocation<'_>) {}
}

/// Two observers, told in turn.
impl<A: Observer, B: Observer> Observer for (A, B) {
    fn motion(&mut self, motion: &Motion<'_>) {
        self.0.motion(motion);
        self.1.motion(motion);
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        self.0.straight(cut);
        self.1.straight(cut);
    }

    fn happening(&mut self, happening: &ProgramEvent<'_>) {
        self.0.happening(happening);
        self.1.happening(happening);
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        self.0.fault(fault, at);
        self.1.fault(fault, at);
    }
}

impl<A: Observer> Observer for &mut A {
    fn motion(&mut self, motion: &Motion<'_>) {
        (**self).motion(motion);
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        (**self).straight(cut);
    }

    fn happening(&mut self, happening: &ProgramEvent<'_>) {
        (**self).happening(happening);
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        (**self).fault(fault, at);
    }
}

/// Perhaps nobody.
impl<A: Observer> Observer for Option<A> {
    fn motion(&mut self, motion: &Motion<'_>) {
        if let Some(observer) = self {
            observer.motion(motion);
        }
    }

    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        if let Some(observer) = self {
            observer.straight(cut);
        }
    }

    fn happening(&mut self, happening: &ProgramEvent<'_>) {
        if let Some(observer) = self {
            observer.happening(happening);
        }
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        if let Some(observer) = self {
            observer.fault(fault, at);
        }
    }
}
