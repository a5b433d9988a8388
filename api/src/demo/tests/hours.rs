//! The demo's hours against the invented history itself: what the machines truly did, and where the pallets were, added
//! up here in the plainest way, instant by instant. It knows nothing of marks, rows or sweeps.

use super::folded::{Folded, Standing, fold};
use super::{SEED, instants};
use crate::demo::floor::Truth;
use crate::demo::frame::later;
use crate::demo::{History, ZONE, down, history};
use chrono::Weekday;
use spindlebook_domain::calendar::attended;
use spindlebook_domain::hours::Category;
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::pool::PalletState;
use spindlebook_domain::time::{Timestamp, Window};
use std::collections::{BTreeMap, BTreeSet};

/// Our own categories. The exchange is not told apart from what the pool was waiting for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Was {
    Cutting {
        attended: bool,
    },
    Stopped,
    Off,
    Down,
    Inspection,
    ReadyNotStarted,
    /// Waiting for load, or no work.
    NothingLoaded,
    RunOut,
}

fn days(history: &History) -> Vec<Window> {
    let frame = &history.frame;
    let dates = std::iter::successors(Some(frame.detailed_from), |date| Some(later(*date, 1)));
    let dates = dates.take_while(|date| *date < frame.this_week);
    dates
        .map(|date| Window::new(frame.wall(date, 0, 0), frame.wall(later(date, 1), 0, 0)))
        .collect()
}

fn standing(changes: &[(Timestamp, Standing)], at: Timestamp) -> Option<Standing> {
    let next = changes.partition_point(|(from, _)| *from <= at);
    next.checked_sub(1).map(|index| changes[index].1)
}

struct Naive<'a> {
    history: &'a History,
    truth: &'a Truth,
    machine: MachineId,
    pallets: Vec<&'a [(Timestamp, Standing)]>,
    attended: Vec<Window>,
    goes_down: bool,
}

impl Naive<'_> {
    fn within(windows: &[Window], at: Timestamp) -> bool {
        windows.iter().any(|window| window.contains(at))
    }

    fn was(&self, at: Timestamp) -> Was {
        let attended = Self::within(&self.attended, at);
        if Self::within(&self.truth.cut, at) {
            return Was::Cutting { attended };
        }
        if self.truth.log.state_at(at) == Some(MachineState::Off) {
            return Was::Off;
        }
        if self.goes_down && down::window(&self.history.frame).contains(at) {
            return Was::Down;
        }
        if Self::within(&self.truth.stopped, at) {
            return Was::Stopped;
        }
        let here: Vec<_> = self
            .pallets
            .iter()
            .filter_map(|changes| standing(changes, at))
            .filter(|(_, spindle)| spindle.is_none_or(|machine| machine == self.machine))
            .map(|(state, _)| state)
            .collect();
        let may_run = here.contains(&PalletState::Ready)
            || (attended && here.contains(&PalletState::ReadyAttendedOnly));
        if may_run {
            return Was::ReadyNotStarted;
        }
        if here.contains(&PalletState::Held) {
            return Was::Inspection;
        }
        if attended { Was::NothingLoaded } else { Was::RunOut }
    }

    /// Cut at every instant at which anything can change.
    fn day(&self, day: Window) -> BTreeMap<Was, i64> {
        let down = down::window(&self.history.frame);
        let windows = self
            .truth
            .cut
            .iter()
            .chain(&self.truth.stopped)
            .chain(&self.attended)
            .chain([&down]);
        let mut cuts: BTreeSet<_> = windows.flat_map(|window| [window.from, window.to]).collect();
        cuts.extend(self.truth.log.rows.iter().map(|(at, _)| *at));
        cuts.extend(
            self.pallets
                .iter()
                .flat_map(|changes| changes.iter().map(|(at, _)| *at)),
        );
        cuts.extend([day.from, day.to]);
        let cuts: Vec<_> = cuts
            .into_iter()
            .filter(|at| (day.from..=day.to).contains(at))
            .collect();
        let mut sums = BTreeMap::new();
        for pair in cuts.windows(2) {
            *sums.entry(self.was(pair[0])).or_insert(0) += pair[1].since_us(pair[0]);
        }
        sums
    }
}

/// The network was down on these days, and one machine's own word is not known.
fn is_dark(history: &History, machine: MachineId, day: Window) -> bool {
    let frame = &history.frame;
    let dark = Window::new(
        frame.wall(frame.day(3, Weekday::Wed), 0, 0),
        frame.wall(frame.day(3, Weekday::Fri), 0, 0),
    );
    let codes = history.steps.iter().find_map(|step| match &step.command {
        spindlebook_domain::command::Command::AddMachine(add) if add.code.as_str() == "M12" => {
            Some(add.machine)
        }
        _ => None,
    });
    codes == Some(machine) && dark.encloses(day)
}

fn compare(history: &History, folded: &Folded, code: &str) {
    let machine = folded.shop.machine_by_code(code).unwrap();
    let pallets = folded.shop.pallets_of(machine.cell);
    let naive = Naive {
        history,
        truth: &history.truth[&machine.id],
        machine: machine.id,
        pallets: pallets
            .iter()
            .map(|pallet| folded.pallets[pallet].as_slice())
            .collect(),
        attended: attended(
            folded.shop.calendar_of(machine.cell).unwrap(),
            ZONE,
            history.frame.all(),
        ),
        goes_down: code == "M21",
    };
    let days = days(history);
    let rows = folded.hours(history, machine.id, &days);
    for (day, row) in days
        .iter()
        .zip(&rows)
        .filter(|(day, _)| !is_dark(history, machine.id, **day))
    {
        let sums = naive.day(*day);
        let of = |was: Was| sums.get(&was).copied().unwrap_or(0);
        let us = |category: Category| row.us[category];
        let at = format!("{code} {} {sums:?}\n{:?}", day.from, row.us);
        assert_eq!(
            us(Category::InCycleAttended),
            of(Was::Cutting { attended: true }),
            "{at}"
        );
        assert_eq!(
            us(Category::InCycleUnattended),
            of(Was::Cutting { attended: false }),
            "{at}"
        );
        assert_eq!(us(Category::Off), of(Was::Off), "{at}");
        assert_eq!(us(Category::Down), of(Was::Down), "{at}");
        // A pause that is told beyond the machine's stop is the people's word.
        let stopped = us(Category::StoppedInRun) - of(Was::Stopped);
        let exchange = us(Category::PalletExchange);
        let ready = of(Was::ReadyNotStarted) - us(Category::ReadyNotStarted);
        let inspection = of(Was::Inspection) - us(Category::WaitingForInspection);
        let run_out = of(Was::RunOut) - us(Category::UnattendedRunOut);
        let nothing = [Category::WaitingForLoad, Category::NoWork, Category::IdleAttended].map(us);
        let nothing = of(Was::NothingLoaded) - nothing.iter().sum::<i64>();
        assert!(
            [ready, inspection, run_out, nothing]
                .iter()
                .all(|less| *less >= 0),
            "{at}"
        );
        assert_eq!(ready + inspection + run_out + nothing, exchange + stopped, "{at}");
        assert_eq!(stopped, 0, "{at}");
        let told = [
            Category::NotKnown,
            Category::SetupAtSpindle,
            Category::IdleUnattended,
        ]
        .map(us);
        assert_eq!(told, [0; 3], "{at}");
    }
}

#[test]
fn the_hours_of_the_demo_are_those_of_its_history() {
    for now in instants() {
        let history = history(SEED, now).unwrap();
        let folded = fold(&history);
        for code in ["M11", "M12", "M21"] {
            compare(&history, &folded, code);
        }
    }
}

#[test]
fn the_standalone_machine_cut_what_its_device_told() {
    let history = history(SEED, instants()[0]).unwrap();
    let folded = fold(&history);
    let machine = folded.shop.machine_by_code("S1").unwrap().id;
    let week = history.frame.last_week();
    let rows = folded.hours(&history, machine, &[week]);
    let cut: i64 = history.truth[&machine]
        .cut
        .iter()
        .filter_map(|cut| cut.overlap(week))
        .map(Window::us)
        .sum();
    let row = &rows[0].us;
    assert_eq!(
        row[Category::InCycleAttended] + row[Category::InCycleUnattended],
        cut
    );
    assert!(
        row[Category::SetupAtSpindle] >= 0 && cut > 8 * 3_600 * 1_000_000,
        "{cut}"
    );
}
