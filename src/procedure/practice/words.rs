//! The words typed at the practice mill: what each is called, what may follow it and what it does. `practice:` in a
//! procedure names acts by them.
//!
//! Own words, short and said by people: `down 0.1`, `go SW`, `spindle 300`. No key, name or layout of a control.

macro_rules! mill_words {
    ($($name:ident in $group:ident: $word:literal, $after:literal, $does:literal;)*) => {
        /// A word of the practice mill.
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub enum MillWord {
            $(#[doc = $does] $name,)*
        }

        impl MillWord {
            /// All of them, group by group.
            pub const ALL: &[Self] = &[$(Self::$name,)*];

            /// The word as it is typed.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$name => $word,)* }
            }

            /// What may follow it.
            pub(crate) const fn after(self) -> &'static str {
                match self { $(Self::$name => $after,)* }
            }

            /// What it does.
            pub(crate) const fn does(self) -> &'static str {
                match self { $(Self::$name => $does,)* }
            }

            /// The group that it is listed in.
            pub(crate) const fn group(self) -> Group {
                match self { $(Self::$name => Group::$group,)* }
            }
        }
    };
}

/// A group of words, as help lists them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Group {
    /// Moving the axes.
    Move,
    /// Setting the control.
    Set,
    /// Running a program.
    Run,
    /// Looking and measuring.
    Look,
    /// Everything done with hands.
    Do,
}

impl Group {
    /// All of them.
    pub(crate) const ALL: [Self; 5] = [Self::Move, Self::Set, Self::Run, Self::Look, Self::Do];

    /// Its title.
    pub(crate) const fn title(self) -> &'static str {
        match self {
            Self::Move => "Move",
            Self::Set => "Set",
            Self::Run => "Run",
            Self::Look => "Look",
            Self::Do => "Do",
        }
    }
}

mill_words! {
    Home in Move: "home", "", "run on to the home switches, Z first";
    Go in Move: "go", "SW | start | skin | X Y", "move X and Y to a point, the start, old skin, or a work position";
    Up in Move: "up", "5", "raise; alone, by one jog step";
    Down in Move: "down", "0.1", "lower; `down 0.01 x 20` in steps, until something is met";
    Left in Move: "left", "5", "move X towards minus";
    Right in Move: "right", "5", "move X towards plus";
    Front in Move: "front", "5", "move Y towards minus";
    Back in Move: "back", "5", "move Y towards plus";
    Touch in Move: "touch", "", "come down step by step until a mark shows";
    Step in Set: "step", "0.01", "choose the jog step";
    Zero in Set: "zero", "z", "make the work readout of an axis show zero here";
    Set in Set: "set", "z -0.18", "make the work readout of an axis show a value here";
    Offset in Set: "offset", "G54 | program", "make a work offset active, or the one that the program calls";
    Length in Set: "length", "1 | off | program", "make a length offset active, none, or the one that the program calls";
    Shift in Set: "shift", "off", "cancel the shift over all offsets";
    Unit in Set: "unit", "mm | inch", "choose the unit shown";
    Spindle in Set: "spindle", "300 | slow | warm | off", "start the spindle at a speed, slowly for touching, at its middling speed to warm up, or stop it";
    Coolant in Set: "coolant", "on | off", "start or stop the coolant";
    Feed in Set: "feed", "100", "set the feed override in percent";
    Rapid in Set: "rapid", "25", "set the rapid override in percent";
    Single in Set: "single", "on | off", "stop after every block, or not";
    Wait in Set: "wait", "15 | warm", "let so many minutes go by, or as many as the spindle needs";
    Reset in Set: "reset", "", "turn the emergency stop out; clear a held program";
    Load in Run: "load", "FILE | sheet", "load a program of the control's memory, or the one on the setup sheet";
    Start in Run: "start", "", "press cycle start";
    Hold in Run: "hold", "WHAT IS WRONG", "feed hold, and say what is wrong";
    Emergency in Run: "emergency", "", "press the emergency stop";
    Look in Look: "look", "", "look round: people, clothes, door, cutter, plate";
    Codes in Look: "codes", "", "read the active codes and the offset page";
    Face in Look: "face", "", "look along the plate for old skin";
    Program in Look: "program", "", "read the loaded program";
    Sheet in Look: "sheet", "", "read the setup sheet: plate, cutter, program, points";
    Measure in Look: "measure", "WHAT", "measure; alone, it says what can be measured";
    Glasses in Do: "glasses", "on | off", "put safety glasses on or off";
    Gloves in Do: "gloves", "on | off", "put gloves on or off";
    Door in Do: "door", "shut | open", "shut or open the door, or the chip screens";
    Guard in Do: "guard", "", "put every guard back";
    Nozzle in Do: "nozzle", "", "aim the coolant nozzle at the cutter";
    Brush in Do: "brush", "", "brush chips off the plate";
    Ink in Do: "ink", "", "cross the face with a marker";
    Tighten in Do: "tighten", "plate | cutter", "put a wrench on every screw, or on the nut";
    Change in Do: "change", "", "put a sound cutter of the same kind in";
    Clear in Do: "clear", "", "take out whatever lies inside";
    Send in Do: "send", "", "ask people to step behind the line";
    Sink in Do: "sink", "", "drive screws that stand high down to their depth";
    Paper in Do: "paper", "", "ask whoever wrote the paper on the panel, and take it down";
    TryStop in Do: "try", "", "press the emergency stop to try it, and turn it out again";
    Feel in Do: "feel", "", "feel the plate with the back of the hand";
}

impl MillWord {
    /// The word that a line begins with.
    pub(crate) fn find(word: &str) -> Option<Self> {
        let same = |w: &&Self| w.word().eq_ignore_ascii_case(word);
        Self::ALL.iter().find(same).copied()
    }

    /// The word and what may follow it.
    pub(crate) fn typed(self) -> String {
        format!("{} {}", self.word(), self.after())
            .trim_end()
            .to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::MillWord;

    #[test]
    fn no_word_stands_twice_and_every_word_says_what_it_does() {
        for word in MillWord::ALL {
            let same = MillWord::ALL.iter().filter(|w| w.word() == word.word());
            assert_eq!(same.count(), 1, "{}", word.word());
            assert!(word.does().len() > 5);
        }
    }
}
