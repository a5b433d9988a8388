//! A machine of a pool before people kept their book of it: it cuts one pallet after the other, also through breaks, and
//! after the last person has gone home until what was loaded is cut.

use super::dice::Dice;
use super::frame::{Frame, ZONE};
use super::log::Log;
use spindlebook_domain::calendar::attended;
use spindlebook_domain::machine_state::MachineState::{Active, Interrupted, Off, ProgramCompleted, Ready};
use spindlebook_domain::time::{Timestamp, Window};

/// Minutes of a program, from a small bracket to a gearbox half.
const CYCLES_MIN: [i64; 8] = [17, 24, 33, 42, 51, 64, 82, 108];
/// Nobody switches the machine off for a night.
const LONG_GAP_S: i64 = 20 * 3_600;

/// Of a hundred pallets, those that are not simply exchanged.
const WAITS_PERCENT: u32 = 65;

pub fn run(frame: &Frame, dice: &mut Dice) -> Log {
    let Window { from, to } = frame.before();
    let attended = attended(
        &frame.site_calendar,
        ZONE,
        Window::new(from, to.plus_s(7 * 86_400)),
    );
    let mut story = Story {
        frame,
        dice,
        log: Log::default(),
        job: Job { cycle_s: 0, loads: 0 },
    };
    story.log.says(frame.begins(), Off);
    for (shift, next) in attended.iter().zip(attended.iter().skip(1)) {
        if shift.from >= to {
            break;
        }
        let gone_home = story.shift(*shift);
        story.alone(Window::new(gone_home, next.from));
    }
    story.log.rows.retain(|(at, _)| *at < to);
    story.log
}

/// The same part, load after load.
struct Job {
    cycle_s: i64,
    loads: i64,
}

struct Story<'a> {
    frame: &'a Frame,
    dice: &'a mut Dice,
    log: Log,
    job: Job,
}

impl Story<'_> {
    /// People load, set up and inspect. Gives the instant at which the last cut begun with them has ended.
    fn shift(&mut self, shift: Window) -> Timestamp {
        let begins = self.dice.between(20, 400);
        let mut at = shift.from.plus_s(begins).max(self.busy_until());
        self.log.says(at, Ready);
        while at < shift.to {
            at = self.cut(at);
            let wait_s = self.wait_s();
            if wait_s > 180 {
                let looked_at = self.dice.between(60, 150);
                self.log.says(at.plus_s(looked_at), Ready);
            }
            at = at.plus_s(wait_s);
        }
        self.busy_until().max(shift.to)
    }

    /// Mostly the next pallet is exchanged; else one waits for a first piece, a set-up, a load, a tool.
    fn wait_s(&mut self) -> i64 {
        if self.dice.percent(WAITS_PERCENT) {
            self.dice.minutes(30, 165)
        } else {
            self.dice.between(60, 120)
        }
    }

    /// What is loaded is cut, then the machine stands still.
    fn alone(&mut self, alone: Window) {
        let mut loaded = self.dice.pick(&[0, 0, 1, 1, 2, 2, 3, 4]);
        if alone.contains(self.frame.clock_change) {
            // All pallets were loaded, with a long program.
            loaded = 8;
            self.job = Job {
                cycle_s: 54 * 60,
                loads: 8,
            };
        }
        let mut at = alone.from;
        while loaded > 0 && at < alone.to {
            at = at.plus_s(self.dice.between(60, 120));
            // One that waits for a whole weekend would be all that a week's report shows.
            if alone.us() < LONG_GAP_S * 1_000_000 && self.dice.percent(4) && self.alarm(at, alone.to) {
                return;
            }
            at = self.cut(at);
            loaded -= 1;
        }
        let idle_from = at.plus_s(self.dice.between(60, 150));
        if idle_from < alone.to {
            self.log.says(idle_from, Ready);
        }
        let off_at = at.plus_s(1_800);
        if alone.us() > LONG_GAP_S * 1_000_000 && off_at < alone.to {
            self.log.says(off_at, Off);
        }
    }

    /// A broken tool stops the run until somebody comes.
    fn alarm(&mut self, at: Timestamp, next_shift: Timestamp) -> bool {
        let breaks_at = at.plus_s(self.dice.minutes(4, 16));
        if breaks_at >= next_shift {
            return false;
        }
        let started_at = self.dice.soon_after(at);
        self.log.says(started_at, Active);
        self.log.says(breaks_at, Interrupted);
        true
    }

    /// Gives the end.
    fn cut(&mut self, at: Timestamp) -> Timestamp {
        if self.job.loads == 0 {
            self.job = Job {
                cycle_s: self.dice.pick(&CYCLES_MIN) * 60,
                loads: self.dice.between(2, 9),
            };
        }
        self.job.loads -= 1;
        let spread = self.job.cycle_s / 60;
        let cycle_s = self.job.cycle_s + self.dice.between(-spread, spread);
        let started_at = self.dice.soon_after(at);
        self.log.says(started_at, Active);
        let ends_at = started_at.plus_s(cycle_s);
        self.log.says(ends_at, ProgramCompleted);
        ends_at
    }

    /// The end of what has been told so far.
    fn busy_until(&self) -> Timestamp {
        self.log.rows.last().map_or(self.frame.begins(), |(at, _)| *at)
    }
}
