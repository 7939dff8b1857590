//! The interface through which a program's actions are reported.

use super::fault::Fault;
use super::motion::{FileLocation, Motion, Straight};
use super::program_event::ProgramEvent;

/// Receives everything in the order of execution. An observer copies what it needs later, because the arguments are
/// only borrowed.
pub(crate) trait Observer {
    /// Receives one motion.
    fn motion(&mut self, motion: &Motion<'_>);

    /// Receives a straight cut between known positions. The result must equal that of its [`Straight::motion`]; an
    /// observer of long programs overrides this to be faster.
    #[inline]
    fn straight(&mut self, cut: &Straight<'_>) {
        self.motion(&cut.motion());
    }

    /// Receives an event other than a motion.
    fn event(&mut self, _event: &ProgramEvent<'_>) {}

    /// Receives a fault of the text, or something that cannot be followed.
    fn fault(&mut self, _fault: &Fault, _at: FileLocation<'_>) {}
}

/// Two observers; the first one receives each report before the second.
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

    fn event(&mut self, event: &ProgramEvent<'_>) {
        self.0.event(event);
        self.1.event(event);
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

    fn event(&mut self, event: &ProgramEvent<'_>) {
        (**self).event(event);
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        (**self).fault(fault, at);
    }
}

/// An observer that may be absent.
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

    fn event(&mut self, event: &ProgramEvent<'_>) {
        if let Some(observer) = self {
            observer.event(event);
        }
    }

    fn fault(&mut self, fault: &Fault, at: FileLocation<'_>) {
        if let Some(observer) = self {
            observer.fault(fault, at);
        }
    }
}
