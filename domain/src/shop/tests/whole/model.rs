//! The shop as somebody would keep it who knows only its rules: every piece by itself, with the place where it is. It
//! says of each act whether it can be, and does it.

use super::acts::Act;
use super::world::{FIXTURES, MACHINES, PALLETS, PARTS, STANDING, Spot, Step, TOLERANCE, is_attended, steps};
use crate::event::Event;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    Waiting,
    On {
        pallet: u8,
        rework: bool,
    },
    Inspection,
    Scrapped,
    Rework,
    Out(u32),
    Returned,
    /// Good at the last step.
    Finished,
}

#[derive(Clone, Copy, Debug)]
pub struct Piece {
    pub job: u8,
    pub step: usize,
    pub place: Place,
    pub shipped: bool,
}

#[derive(Clone, Debug)]
pub struct Job {
    pub order: u8,
    pub line: u32,
    pub wanted: u32,
    pub steps: Vec<Step>,
    pub is_open: bool,
    outs: u32,
}

#[derive(Clone, Debug)]
pub struct Line {
    pub quantity: u32,
    part: u8,
    arrived: bool,
    pub lots: Vec<u8>,
    pub is_closed: bool,
}

#[derive(Clone, Debug)]
pub struct Order {
    pub lines: Vec<Line>,
    tolerance: (u32, u32),
    pub is_open: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    Ready,
    InRun(u8),
    Cut(u8),
    Aborted,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    pub job: u8,
    pub step: usize,
    pub rework: bool,
    pub pieces: u32,
}

#[derive(Clone, Debug)]
pub struct Load {
    pub no: u32,
    pub entries: Vec<Entry>,
    pub stage: Stage,
    pub hold: Option<u32>,
    /// Job, step, what it was called, pieces, and by which result.
    pub decided: Vec<(u8, usize, How, u32, u32)>,
    lifted: Option<(u32, Hold)>,
}

impl Load {
    pub fn decided_as(&self, entry: &Entry, is: impl Fn(How) -> bool) -> u32 {
        let same = self
            .decided
            .iter()
            .filter(|one| (one.0, one.1) == (entry.job, entry.step) && is(one.2));
        same.map(|one| one.3).sum()
    }

    /// Counts that close: what was decided counts as that, what passed as good, and the rest lies in inspection.
    pub fn as_decided(&self, entry: &Entry) -> [u32; 5] {
        let of = |how: How| self.decided_as(entry, |one| one == how);
        let (scrap, rework) = (of(How::Scrap), of(How::Rework));
        let good = self.decided_as(entry, How::passes);
        [good, scrap, rework, entry.pieces - good - scrap - rework, 0]
    }

    fn undecided(&self) -> Vec<(u8, usize, u32)> {
        let left = self.entries.iter().map(|entry| {
            let decided = self.decided_as(entry, |_| true);
            (entry.job, entry.step, entry.pieces - decided)
        });
        left.filter(|one| one.2 > 0).collect()
    }
}

/// What a disposition calls pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    Accept,
    Rework,
    Scrap,
    UseAsIs,
    Return,
}

impl How {
    pub const ALL: [Self; 5] = [
        Self::Accept,
        Self::Rework,
        Self::Scrap,
        Self::UseAsIs,
        Self::Return,
    ];

    const fn passes(self) -> bool {
        matches!(self, Self::Accept | Self::UseAsIs)
    }
}

/// What an inspector said: job, step, and how many good, scrapped, to rework and returned.
#[derive(Clone, Debug)]
pub struct Said {
    no: u32,
    /// The entry that says so, as the shop numbered it.
    pub seq: u64,
    pub of: Vec<(u8, usize, [u32; 4])>,
    /// The load that was clamped then.
    load: Option<u32>,
    hold: Option<u32>,
    reversed: bool,
}

#[derive(Clone, Debug)]
pub struct Pallet {
    pub cell: u8,
    pub spot: Spot,
    /// Its number, the fixture, the copy, and whether it is finished.
    pub setup: Option<(u32, u8, u8, bool)>,
    pub load: Option<Load>,
}

#[derive(Clone, Debug)]
pub struct Run {
    pub no: u32,
    pub pallet: u8,
    paused: bool,
    since_s: i64,
}

#[derive(Clone, Debug, Default)]
pub struct Machine {
    pub cell: u8,
    pub run: Option<Run>,
    pub down_since_s: Option<i64>,
    changed_s: Option<i64>,
    /// Of runs, with a stop or without.
    pub cut: Vec<(i64, i64)>,
    pub stopped: Vec<(i64, i64)>,
    pub downs: Vec<(i64, i64)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    FirstPiece,
    FirstArticle,
    Suspect,
}

#[derive(Clone, Debug)]
pub struct Hold {
    pub kind: Kind,
    pub pallet: u8,
    load: u32,
    setup: u32,
    machine: Option<u8>,
    entries: Vec<Entry>,
    taken_off: bool,
    /// Taken off, these lie in inspection.
    waiting: Vec<(u8, usize, u32)>,
}

/// Job, step, setup, machine, and whether it is the formal one.
pub type Approval = (u8, usize, u32, u8, bool);

pub struct Model {
    pub now_s: i64,
    /// Grows with every act.
    pub tick: u32,
    routed: BTreeMap<u8, Vec<Step>>,
    copies: BTreeMap<u8, u8>,
    pub pieces: Vec<Piece>,
    pub jobs: BTreeMap<u8, Job>,
    pub orders: BTreeMap<u8, Order>,
    pub pallets: BTreeMap<u8, Pallet>,
    pub machines: BTreeMap<u8, Machine>,
    pub holds: BTreeMap<u32, Hold>,
    /// With the result that gave it.
    pub approvals: BTreeMap<Approval, u32>,
    pub said: Vec<Said>,
    pub queues: BTreeMap<u8, Vec<u8>>,
}

impl Model {
    pub fn new() -> Self {
        let pallets = PALLETS
            .into_iter()
            .zip(STANDING)
            .map(|((number, cell), (_, spot))| {
                let pallet = Pallet {
                    cell,
                    spot,
                    setup: None,
                    load: None,
                };
                (number, pallet)
            });
        let machines = MACHINES.map(|(number, cell)| {
            let machine = Machine {
                cell,
                ..Machine::default()
            };
            (number, machine)
        });
        let copies = FIXTURES
            .iter()
            .flat_map(|(fixture, _, copies)| copies.iter().map(|copy| (*copy, *fixture)));
        Self {
            now_s: 0,
            tick: 0,
            routed: PARTS.map(|part| (part, steps(part, false))).into(),
            copies: copies.collect(),
            pieces: Vec::new(),
            jobs: BTreeMap::new(),
            orders: BTreeMap::new(),
            pallets: pallets.collect(),
            machines: machines.into(),
            holds: BTreeMap::new(),
            approvals: BTreeMap::new(),
            said: Vec::new(),
            queues: BTreeMap::new(),
        }
    }

    pub const fn fresh(&self) -> u32 {
        self.tick + 1_000
    }

    pub fn newest_job(&self) -> u8 {
        self.jobs.keys().last().copied().unwrap_or(0)
    }

    pub fn newest_order(&self) -> u8 {
        self.orders.keys().last().copied().unwrap_or(0)
    }

    pub fn job_of(&self, number: u8) -> u8 {
        if number == 0 { self.newest_job() } else { number }
    }

    pub fn order_of(&self, number: u8) -> u8 {
        if number == 0 { self.newest_order() } else { number }
    }

    pub fn next_copy(&self) -> u8 {
        self.copies.keys().last().unwrap() + 1
    }

    pub fn hold_of(&self, nth: usize) -> u32 {
        self.holds.keys().nth(nth).copied().unwrap_or(0)
    }

    pub fn run_on(&self, machine: u8) -> u32 {
        self.machines[&machine].run.as_ref().map_or(0, |run| run.no)
    }

    pub fn load_on(&self, pallet: u8) -> Option<&Load> {
        self.pallets[&pallet].load.as_ref()
    }

    pub fn count(&self, is: impl Fn(&Piece) -> bool) -> u32 {
        u32::try_from(self.pieces.iter().filter(|piece| is(piece)).count()).unwrap()
    }

    pub fn at(&self, job: u8, step: usize, place: Place) -> u32 {
        self.count(|piece| (piece.job, piece.step, piece.place) == (job, step, place))
    }

    pub fn finished(&self, job: u8) -> u32 {
        self.count(|piece| piece.job == job && piece.place == Place::Finished)
    }

    fn open_job(&self, job: u8) -> Option<&Job> {
        self.jobs.get(&job).filter(|job| job.is_open)
    }

    fn put(&mut self, job: u8, step: usize, from: Place, pieces: u32, to: Place) {
        let here = |piece: &&mut Piece| (piece.job, piece.step, piece.place) == (job, step, from);
        for piece in self.pieces.iter_mut().filter(here).take(pieces as usize) {
            piece.place = to;
        }
    }

    /// Good: on to the next step.
    fn pass(&mut self, job: u8, step: usize, from: Place, pieces: u32) {
        let is_last = step + 1 == self.jobs[&job].steps.len();
        let here = |piece: &&mut Piece| (piece.job, piece.step, piece.place) == (job, step, from);
        for piece in self.pieces.iter_mut().filter(here).take(pieces as usize) {
            if is_last {
                piece.place = Place::Finished;
            } else {
                piece.step += 1;
                piece.place = Place::Waiting;
            }
        }
    }

    fn add_pieces(&mut self, job: u8, pieces: u32) {
        let blank = Piece {
            job,
            step: 0,
            place: Place::Waiting,
            shipped: false,
        };
        self.pieces.extend((0..pieces).map(|_| blank));
    }

    /// Whether the act can be; if so it is done.
    pub fn takes(&mut self, act: &Act) -> bool {
        self.tick += 1;
        self.catalogue(act)
            .or_else(|| self.office(act))
            .or_else(|| self.by_hand(act))
            .or_else(|| self.on_pallet(act))
            .or_else(|| self.on_machine(act))
            .unwrap()
    }

    fn catalogue(&mut self, act: &Act) -> Option<bool> {
        match *act {
            Act::Route { part, checked } => {
                self.routed.insert(part, steps(part, checked));
            }
            Act::AddCopy { fixture } => {
                self.copies.insert(self.next_copy(), fixture);
            }
            Act::Wait { seconds } => self.now_s += seconds,
            _ => return None,
        }
        Some(true)
    }
}

/// Orders.
impl Model {
    fn line(&self, order: u8, line: u32) -> Option<&Line> {
        let order = self.orders.get(&order).filter(|order| order.is_open)?;
        order
            .lines
            .get(usize::try_from(line).unwrap() - 1)
            .filter(|line| !line.is_closed)
    }

    fn line_mut(&mut self, order: u8, line: u32) -> &mut Line {
        let lines = &mut self.orders.get_mut(&order).unwrap().lines;
        &mut lines[usize::try_from(line).unwrap() - 1]
    }

    pub fn shipped(&self, line: &Line) -> u32 {
        self.count(|piece| piece.shipped && line.lots.contains(&piece.job))
    }

    fn is_settled(&self, line: &Line) -> bool {
        let moves =
            |piece: &Piece| matches!(piece.place, Place::On { .. } | Place::Inspection | Place::Out(_));
        self.count(|piece| line.lots.contains(&piece.job) && moves(piece)) == 0
    }

    fn close(&mut self, order: u8, line: u32) {
        self.line_mut(order, line).is_closed = true;
        for lot in self.line_mut(order, line).lots.clone() {
            self.jobs.get_mut(&lot).unwrap().is_open = false;
        }
        let order = self.orders.get_mut(&order).unwrap();
        order.is_open = order.lines.iter().any(|line| !line.is_closed);
        let jobs = &self.jobs;
        self.approvals.retain(|approval, _| jobs[&approval.0].is_open);
        self.holds
            .retain(|_, hold| hold.entries.iter().any(|entry| jobs[&entry.job].is_open));
    }

    fn close_if_full(&mut self, order: u8, line: u32) {
        let found = self.line(order, line).unwrap();
        let is_full = !found.lots.is_empty() && self.shipped(found) >= found.quantity;
        if is_full && self.is_settled(found) {
            self.close(order, line);
        }
    }

    fn office(&mut self, act: &Act) -> Option<bool> {
        Some(match *act {
            Act::Enter {
                ref lines,
                customer,
                arrived,
            } => self.enter(lines, customer, arrived),
            Act::Material { order, line } => {
                let order = self.order_of(order);
                let can = self.line(order, line).is_some_and(|line| !line.arrived);
                if can {
                    self.line_mut(order, line).arrived = true;
                }
                can
            }
            Act::Release { order } => self.release(self.order_of(order)),
            Act::Change {
                order,
                line,
                quantity,
            } => {
                let order = self.order_of(order);
                let can = |line: &Line| quantity > 0 && quantity >= self.shipped(line);
                let can = self.line(order, line).is_some_and(can);
                if can {
                    self.line_mut(order, line).quantity = quantity;
                    self.close_if_full(order, line);
                }
                can
            }
            Act::Ship {
                order,
                line,
                job,
                pieces,
            } => self.ship(self.order_of(order), line, self.job_of(job), pieces),
            Act::Complete { order, line } => {
                let order = self.order_of(order);
                let least =
                    |line: &Line| line.quantity - line.quantity * self.orders[&order].tolerance.1 / 100;
                let can = |line: &Line| {
                    !line.lots.is_empty() && self.shipped(line) >= least(line) && self.is_settled(line)
                };
                let can = self.line(order, line).is_some_and(can);
                if can {
                    self.close(order, line);
                }
                can
            }
            Act::Cancel { order, line } => {
                let order = self.order_of(order);
                let can = |line: &Line| self.shipped(line) == 0 && self.is_settled(line);
                let can = self.line(order, line).is_some_and(can);
                if can {
                    self.close(order, line);
                }
                can
            }
            _ => return None,
        })
    }

    fn enter(&mut self, lines: &[(u8, u32)], customer: bool, arrived: bool) -> bool {
        let line = |(part, quantity): &(u8, u32)| Line {
            quantity: *quantity,
            part: *part,
            arrived,
            lots: Vec::new(),
            is_closed: false,
        };
        let order = Order {
            lines: lines.iter().map(line).collect(),
            tolerance: if customer { TOLERANCE } else { (0, 0) },
            is_open: true,
        };
        self.orders.insert(self.newest_order() + 1, order);
        true
    }

    /// All lines that are not: each is a job with the routing of this moment.
    fn release(&mut self, number: u8) -> bool {
        let Some(order) = self.orders.get(&number).filter(|order| order.is_open) else {
            return false;
        };
        let lines = (1_u32..).zip(order.lines.clone());
        let entered: Vec<_> = lines
            .filter(|(_, line)| !line.is_closed && line.lots.is_empty())
            .collect();
        for (line, facts) in &entered {
            let job = self.newest_job() + 1;
            let released = Job {
                order: number,
                line: *line,
                wanted: facts.quantity,
                steps: self.routed[&facts.part].clone(),
                is_open: true,
                outs: 0,
            };
            self.jobs.insert(job, released);
            self.add_pieces(job, facts.quantity);
            self.line_mut(number, *line).lots.push(job);
        }
        !entered.is_empty()
    }

    fn ship(&mut self, order: u8, line: u32, job: u8, pieces: u32) -> bool {
        let of_job = |shipped: bool| {
            self.count(|piece| piece.job == job && piece.place == Place::Finished && piece.shipped == shipped)
        };
        let can = |line: &Line| {
            let most = line.quantity + line.quantity * self.orders[&order].tolerance.0 / 100;
            line.lots.contains(&job)
                && pieces > 0
                && pieces <= of_job(false)
                && self.shipped(line) + pieces <= most
        };
        let can = self.line(order, line).is_some_and(can);
        if can {
            let ready =
                |piece: &&mut Piece| piece.job == job && piece.place == Place::Finished && !piece.shipped;
            for piece in self.pieces.iter_mut().filter(ready).take(pieces as usize) {
                piece.shipped = true;
            }
            self.close_if_full(order, line);
        }
        can
    }
}

/// Lots, blanks, steps by hand, the inspector.
impl Model {
    fn by_hand(&mut self, act: &Act) -> Option<bool> {
        Some(match *act {
            Act::Split {
                job,
                quantity,
                step,
                pieces,
            } => self.split(self.job_of(job), quantity, step, pieces),
            Act::Blanks { job, pieces } => {
                let job = self.job_of(job);
                let can = self.open_job(job).is_some() && pieces > 0;
                if can {
                    self.add_pieces(job, pieces);
                }
                can
            }
            Act::Out {
                job,
                step,
                pieces,
                rework,
            } => self.out(self.job_of(job), step, pieces, rework),
            Act::Back {
                job,
                out,
                good,
                damaged,
                missing,
            } => {
                let (job, from) = (self.job_of(job), Place::Out(out));
                let step = (0..3).find(|step| self.at(job, *step, from) > 0).unwrap_or(0);
                let all = good + damaged + missing;
                let can = self.open_job(job).is_some() && all > 0 && all <= self.at(job, step, from);
                if can {
                    self.pass(job, step, from, good);
                    self.put(job, step, from, damaged, Place::Inspection);
                    self.put(job, step, from, missing, Place::Scrapped);
                }
                can
            }
            Act::Inspect { job, step, counts } => {
                let (job, from) = (self.job_of(job), Place::Inspection);
                let all: u32 = counts.iter().sum();
                let free = self.at(job, step, from) - self.kept_there(job, step);
                let can = self.open_job(job).is_some() && all > 0 && all <= free;
                if can {
                    self.judge(job, step, counts);
                    self.says(vec![(job, step, counts)], None, None);
                }
                can
            }
            Act::Reverse { nth } => self.reverse(nth),
            _ => return None,
        })
    }

    /// In inspection, and an open hold keeps them there.
    fn kept_there(&self, job: u8, step: usize) -> u32 {
        let waiting = self.holds.values().flat_map(|hold| &hold.waiting);
        let same = waiting.filter(|one| (one.0, one.1) == (job, step));
        same.map(|one| one.2).sum()
    }

    fn judge(&mut self, job: u8, step: usize, counts: [u32; 4]) {
        let from = Place::Inspection;
        self.pass(job, step, from, counts[0]);
        let others = [Place::Scrapped, Place::Rework, Place::Returned];
        for (pieces, to) in counts[1..].iter().zip(others) {
            self.put(job, step, from, *pieces, to);
        }
    }

    fn says(&mut self, of: Vec<(u8, usize, [u32; 4])>, load: Option<u32>, hold: Option<u32>) {
        let said = Said {
            no: self.tick,
            seq: 0,
            of,
            load,
            hold,
            reversed: false,
        };
        self.said.push(said);
    }

    /// The shop gave the last result this number.
    pub fn numbered(&mut self, event: &Event, seq: u64) {
        if matches!(event, Event::HoldDisposed(_) | Event::JobInspected(_))
            && let Some(said) = self.said.last_mut().filter(|said| said.no == self.tick)
        {
            said.seq = seq;
        }
    }

    /// The nth result from the end, and its number.
    pub fn said(&self, nth: usize) -> Option<(usize, &Said)> {
        let index = self.said.len().checked_sub(nth + 1)?;
        Some((index, &self.said[index]))
    }

    /// A result is taken back while its pieces are where it put them.
    fn reverse(&mut self, nth: usize) -> bool {
        let Some((index, said)) = self.said(nth) else {
            return false;
        };
        let said = said.clone();
        let is_clamped = |pallet: &Pallet| {
            let load = pallet.load.as_ref();
            said.load.is_some() && load.map(|load| load.no) == said.load
        };
        let on = self.pallets.iter().find(|(_, pallet)| is_clamped(pallet));
        let on = on.map(|(number, _)| *number);
        let is_there = |(job, step, counts): &(u8, usize, [u32; 4])| {
            let Some(found) = self.open_job(*job) else {
                return false;
            };
            let is_last = step + 1 == found.steps.len();
            let good = if is_last {
                let unshipped = |piece: &Piece| piece.place == Place::Finished && !piece.shipped;
                self.count(|piece| piece.job == *job && unshipped(piece))
            } else {
                self.at(*job, step + 1, Place::Waiting)
            };
            let others =
                [Place::Scrapped, Place::Rework, Place::Returned].map(|place| self.at(*job, *step, place));
            counts[0] <= good
                && counts[1..]
                    .iter()
                    .zip(others)
                    .all(|(pieces, there)| *pieces <= there)
        };
        let can = !said.reversed && (on.is_some() || said.of.iter().all(is_there));
        if can {
            self.said[index].reversed = true;
            self.approvals.retain(|_, by| *by != said.no);
            match on {
                Some(pallet) => self.hold_again(pallet, &said),
                None => self.lay_back(&said),
            }
        }
        can
    }

    fn hold_again(&mut self, pallet: u8, said: &Said) {
        let load = self.pallets.get_mut(&pallet).unwrap().load.as_mut().unwrap();
        load.decided.retain(|one| one.4 != said.no);
        if load.hold.is_none() {
            let (no, hold) = load.lifted.take().unwrap();
            load.hold = Some(no);
            self.holds.insert(no, hold);
        }
    }

    fn lay_back(&mut self, said: &Said) {
        for (job, step, counts) in &said.of {
            let is_last = step + 1 == self.jobs[job].steps.len();
            let gone_on = |piece: &&mut Piece| {
                piece.job == *job
                    && if is_last {
                        piece.place == Place::Finished && !piece.shipped
                    } else {
                        (piece.step, piece.place) == (step + 1, Place::Waiting)
                    }
            };
            for piece in self.pieces.iter_mut().filter(gone_on).take(counts[0] as usize) {
                piece.step = *step;
                piece.place = Place::Inspection;
            }
            let others = [Place::Scrapped, Place::Rework, Place::Returned];
            for (pieces, from) in counts[1..].iter().zip(others) {
                self.put(*job, *step, from, *pieces, Place::Inspection);
            }
            if let Some(hold) = said.hold.and_then(|hold| self.holds.get_mut(&hold)) {
                let all = counts.iter().sum();
                match hold
                    .waiting
                    .iter_mut()
                    .find(|one| (one.0, one.1) == (*job, *step))
                {
                    Some(one) => one.2 += all,
                    None => hold.waiting.push((*job, *step, all)),
                }
            }
        }
    }

    fn split(&mut self, job: u8, quantity: u32, step: usize, pieces: u32) -> bool {
        let Some(found) = self.open_job(job) else {
            return false;
        };
        let can = quantity > 0
            && quantity < found.wanted
            && self.finished(job) + quantity <= found.wanted
            && pieces > 0
            && pieces <= self.at(job, step, Place::Waiting);
        if can {
            let lot = self.newest_job() + 1;
            let (order, line) = (found.order, found.line);
            let made = Job {
                wanted: quantity,
                outs: 0,
                ..found.clone()
            };
            self.jobs.get_mut(&job).unwrap().wanted -= quantity;
            self.jobs.insert(lot, made);
            self.line_mut(order, line).lots.push(lot);
            let waits =
                |piece: &&mut Piece| (piece.job, piece.step, piece.place) == (job, step, Place::Waiting);
            for piece in self.pieces.iter_mut().filter(waits).take(pieces as usize) {
                piece.job = lot;
            }
        }
        can
    }

    /// Whether the material of a first step is here.
    fn is_here(&self, job: &Job, step: usize) -> bool {
        step > 0 || self.line(job.order, job.line).is_none_or(|line| line.arrived)
    }

    fn out(&mut self, job: u8, step: usize, pieces: u32, rework: bool) -> bool {
        let from = if rework { Place::Rework } else { Place::Waiting };
        let can = self.open_job(job).is_some_and(|found| {
            found.steps.get(step).is_some_and(|step| step.places.is_empty()) && self.is_here(found, step)
        });
        let can = can && pieces > 0 && pieces <= self.at(job, step, from);
        if can {
            let found = self.jobs.get_mut(&job).unwrap();
            found.outs += 1;
            let to = Place::Out(found.outs);
            self.put(job, step, from, pieces, to);
        }
        can
    }
}

/// Pallets.
impl Model {
    fn standing_at(&self, cell: u8, spot: Spot) -> Option<u8> {
        let mut there = self.pallets.iter();
        there
            .find(|(_, pallet)| pallet.cell == cell && pallet.spot == spot)
            .map(|(number, _)| *number)
    }

    fn is_held(&self, pallet: u8) -> bool {
        self.load_on(pallet).is_some_and(|load| load.hold.is_some())
    }

    fn is_in_run(&self, pallet: u8) -> bool {
        self.load_on(pallet)
            .is_some_and(|load| matches!(load.stage, Stage::InRun(_)))
    }

    fn on_pallet(&mut self, act: &Act) -> Option<bool> {
        Some(match *act {
            Act::Mount { pallet, fixture } => self.mount(pallet, fixture),
            Act::FinishSetup { pallet } => match &mut self.pallets.get_mut(&pallet).unwrap().setup {
                Some((_, _, _, is_finished)) => !std::mem::replace(is_finished, true),
                None => false,
            },
            Act::Unmount { pallet } => {
                let on = self.pallets.get_mut(&pallet).unwrap();
                let at_hand = matches!(on.spot, Spot::Station(_));
                let can = on.setup.is_some() && at_hand && on.load.is_none();
                if can {
                    on.setup = None;
                }
                can
            }
            Act::Load {
                pallet,
                ref entries,
                rework,
            } => {
                let named = entries.iter().map(|(job, step, pieces)| Entry {
                    job: self.job_of(*job),
                    step: *step,
                    rework,
                    pieces: *pieces,
                });
                let named: Vec<_> = named.collect();
                self.load(pallet, &named)
            }
            Act::Move { pallet, to, exchange } => self.move_to(pallet, to, exchange),
            Act::Queue { cell, ref pallets } => {
                let mut once = BTreeSet::new();
                let can = pallets
                    .iter()
                    .all(|pallet| self.pallets[pallet].cell == cell && once.insert(*pallet));
                if can {
                    self.queues.insert(cell, pallets.clone());
                }
                can
            }
            Act::Unload { pallet, ref counts } => self.unload(pallet, counts),
            Act::UnloadWell { pallet, last } => self.unload(pallet, &self.well(pallet, last)),
            Act::Hold { pallet } => {
                self.load_on(pallet).is_some() && !self.is_held(pallet) && self.hold(pallet, Kind::Suspect)
            }
            Act::Accept { nth } => self.dispose(self.hold_of(nth), How::Accept, 0),
            Act::Dispose { nth, how, pieces } => self.dispose(self.hold_of(nth), How::ALL[how], pieces),
            _ => return None,
        })
    }

    fn mount(&mut self, pallet: u8, fixture: u8) -> bool {
        let used: BTreeSet<_> = self
            .pallets
            .values()
            .filter_map(|pallet| Some(pallet.setup?.2))
            .collect();
        let mut free = self
            .copies
            .iter()
            .filter(|(copy, of)| **of == fixture && !used.contains(copy))
            .map(|(copy, _)| *copy);
        let free = free.next();
        let number = self.tick + 999;
        let on = self.pallets.get_mut(&pallet).unwrap();
        match free {
            Some(copy) if on.setup.is_none() && matches!(on.spot, Spot::Station(_)) => {
                on.setup = Some((number, fixture, copy, false));
                true
            }
            _ => false,
        }
    }

    fn load(&mut self, number: u8, more: &[Entry]) -> bool {
        let pallet = &self.pallets[&number];
        let Some((_, fixture, _, true)) = pallet.setup else {
            return false;
        };
        let can_be_added = pallet
            .load
            .as_ref()
            .is_none_or(|load| load.stage == Stage::Ready && load.hold.is_none());
        if !matches!(pallet.spot, Spot::Station(_)) || !can_be_added {
            return false;
        }
        let on = pallet.load.as_ref().map_or(&[][..], |load| &load.entries);
        let is_rework = on.first().map_or(more[0].rework, |entry| entry.rework);
        let mut once = BTreeSet::new();
        for entry in more {
            let from = if entry.rework {
                Place::Rework
            } else {
                Place::Waiting
            };
            let fits = |job: &Job| {
                job.steps
                    .get(entry.step)
                    .is_some_and(|step| step.place(pallet.cell).is_some() && step.fixtures.contains(&fixture))
                    && (entry.rework || self.is_here(job, entry.step))
            };
            let can = self.open_job(entry.job).is_some_and(fits)
                && entry.rework == is_rework
                && once.insert((entry.job, entry.step))
                && entry.pieces > 0
                && entry.pieces <= self.at(entry.job, entry.step, from);
            if !can {
                return false;
            }
        }
        let nests = FIXTURES.iter().find(|(known, _, _)| *known == fixture).unwrap().1;
        let all: u32 = on.iter().chain(more).map(|entry| entry.pieces).sum();
        if all > nests {
            return false;
        }
        self.clamp(number, more);
        true
    }

    fn clamp(&mut self, pallet: u8, more: &[Entry]) {
        for entry in more {
            let from = if entry.rework {
                Place::Rework
            } else {
                Place::Waiting
            };
            let to = Place::On {
                pallet,
                rework: entry.rework,
            };
            self.put(entry.job, entry.step, from, entry.pieces, to);
        }
        let no = self.tick;
        let load = self
            .pallets
            .get_mut(&pallet)
            .unwrap()
            .load
            .get_or_insert_with(|| Load {
                no,
                entries: Vec::new(),
                stage: Stage::Ready,
                hold: None,
                decided: Vec::new(),
                lifted: None,
            });
        for entry in more {
            let same = |known: &&mut Entry| (known.job, known.step) == (entry.job, entry.step);
            match load.entries.iter_mut().find(same) {
                Some(known) => known.pieces += entry.pieces,
                None => load.entries.push(*entry),
            }
        }
    }

    fn move_to(&mut self, number: u8, to: Spot, exchange: bool) -> bool {
        let pallet = &self.pallets[&number];
        let from = pallet.spot;
        let may_go = |number: u8, to: Spot| !(matches!(to, Spot::Spindle(_)) && self.is_held(number));
        let there = self.standing_at(pallet.cell, to).filter(|there| *there != number);
        let can = to.is_in(pallet.cell)
            && to != from
            && !self.is_in_run(number)
            && may_go(number, to)
            && there.is_none_or(|there| exchange && !self.is_in_run(there) && may_go(there, from));
        if can {
            self.pallets.get_mut(&number).unwrap().spot = to;
            if let Some(there) = there {
                self.pallets.get_mut(&there).unwrap().spot = from;
            }
        }
        can
    }

    fn unload(&mut self, number: u8, counts: &[[u32; 5]]) -> bool {
        let pallet = &self.pallets[&number];
        let Some(load) = pallet.load.clone() else {
            return false;
        };
        let closes = load.entries.len() <= counts.len()
            && load
                .entries
                .iter()
                .zip(counts)
                .all(|(entry, five)| five.iter().sum::<u32>() == entry.pieces);
        let counts = &counts[..load.entries.len().min(counts.len())];
        let is_uncut = counts.iter().all(|five| five[..4] == [0; 4]);
        let nothing_good = counts.iter().all(|five| five[0] == 0);
        let can = matches!(pallet.spot, Spot::Station(_))
            && closes
            && match load.stage {
                Stage::Ready => is_uncut,
                Stage::InRun(_) => false,
                Stage::Cut(_) => load.entries.iter().zip(counts).all(|(entry, five)| {
                    let decided = |how: How| load.decided_as(entry, |one| one == how);
                    let passed = load.decided_as(entry, How::passes);
                    five[1] >= decided(How::Scrap)
                        && five[2] >= decided(How::Rework)
                        && five[3] >= decided(How::Return)
                        && (load.hold.is_none() || five[0] <= passed)
                }),
                Stage::Aborted => nothing_good,
            };
        if can {
            self.take_off(number, &load, counts);
        }
        can
    }

    fn take_off(&mut self, pallet: u8, load: &Load, counts: &[[u32; 5]]) {
        for (entry, five) in load.entries.iter().zip(counts) {
            let (job, step, rework) = (entry.job, entry.step, entry.rework);
            let from = Place::On { pallet, rework };
            self.pass(job, step, from, five[0]);
            let back = if rework { Place::Rework } else { Place::Waiting };
            for (pieces, to) in
                five[1..]
                    .iter()
                    .zip([Place::Scrapped, Place::Rework, Place::Inspection, back])
            {
                self.put(job, step, from, *pieces, to);
            }
            let returned = load.decided_as(entry, |how| how == How::Return);
            self.put(job, step, Place::Inspection, returned, Place::Returned);
        }
        self.pallets.get_mut(&pallet).unwrap().load = None;
        let Some(hold) = load.hold else { return };
        let waiting = load.entries.iter().zip(counts).map(|(entry, five)| {
            let returned = load.decided_as(entry, |how| how == How::Return);
            (entry.job, entry.step, five[3] - returned)
        });
        let waiting: Vec<_> = waiting.filter(|one| one.2 > 0).collect();
        if waiting.is_empty() {
            self.holds.remove(&hold);
        } else if let Some(hold) = self.holds.get_mut(&hold) {
            hold.taken_off = true;
            hold.waiting = waiting;
            hold.entries.clone_from(&load.entries);
            hold.machine = match load.stage {
                Stage::Cut(machine) => Some(machine),
                _ => None,
            };
        }
    }

    /// By this act.
    fn hold(&mut self, number: u8, kind: Kind) -> bool {
        let no = self.tick + 999;
        let pallet = self.pallets.get_mut(&number).unwrap();
        let (load, setup) = (pallet.load.as_mut().unwrap(), pallet.setup.unwrap().0);
        load.hold = Some(no);
        // Who doubts what was accepted takes it back.
        let passed: BTreeSet<_> = load
            .decided
            .iter()
            .filter(|one| one.2.passes())
            .map(|one| one.4)
            .collect();
        load.decided.retain(|one| !one.2.passes());
        self.approvals.retain(|_, by| !passed.contains(by));
        for said in self.said.iter_mut().filter(|said| passed.contains(&said.no)) {
            said.reversed = true;
        }
        let hold = Hold {
            kind,
            pallet: number,
            load: load.no,
            setup,
            machine: None,
            entries: load.entries.clone(),
            taken_off: false,
            waiting: Vec::new(),
        };
        self.holds.insert(no, hold);
        true
    }

    pub fn undecided(&self, no: u32) -> Vec<(u8, usize, u32)> {
        let Some(hold) = self.holds.get(&no) else {
            return Vec::new();
        };
        if hold.taken_off {
            return hold.waiting.clone();
        }
        self.load_on(hold.pallet).unwrap().undecided()
    }

    /// What is accepted of a cut load opens the rest, from its setup on its machine. `pieces` of the first that waits for a
    /// decision; 0: all.
    fn dispose(&mut self, no: u32, how: How, pieces: u32) -> bool {
        let Some(hold) = self.holds.get(&no).cloned() else {
            return false;
        };
        let load = self.load_on(hold.pallet).filter(|_| !hold.taken_off).cloned();
        let machine = match load.as_ref().map(|load| load.stage) {
            None => hold.machine,
            Some(Stage::InRun(_)) => return false,
            Some(Stage::Cut(machine)) => Some(machine),
            Some(Stage::Ready | Stage::Aborted) => {
                if how == How::Accept {
                    self.lift(no, &hold);
                }
                return how == How::Accept;
            }
        };
        let undecided = self.undecided(no);
        let chosen = match undecided.first() {
            Some((job, step, most)) if pieces > 0 => {
                if pieces > *most {
                    return false;
                }
                vec![(*job, *step, pieces)]
            }
            _ => undecided.clone(),
        };
        for (job, step, _) in chosen.iter().filter(|_| how == How::Accept) {
            let (entry, machine) = (
                hold.entries
                    .iter()
                    .find(|one| (one.job, one.step) == (*job, *step)),
                machine,
            );
            let (Some(entry), Some(machine), Some(found)) = (entry, machine, self.open_job(*job)) else {
                continue;
            };
            if self.first(entry, hold.setup, machine).is_some() {
                let formal = found.steps[*step].first_article && !self.has_article(entry);
                self.approvals
                    .insert((*job, *step, hold.setup, machine, formal), self.tick);
            }
        }
        self.settle(no, &hold, how, &chosen, load.is_some());
        true
    }

    fn settle(&mut self, no: u32, hold: &Hold, how: How, chosen: &[(u8, usize, u32)], on_pallet: bool) {
        let five = |pieces: u32| match how {
            How::Accept | How::UseAsIs => [pieces, 0, 0, 0],
            How::Scrap => [0, pieces, 0, 0],
            How::Rework => [0, 0, pieces, 0],
            How::Return => [0, 0, 0, pieces],
        };
        let tick = self.tick;
        for (job, step, pieces) in chosen {
            if on_pallet {
                let load = self.pallets.get_mut(&hold.pallet).unwrap().load.as_mut().unwrap();
                load.decided.push((*job, *step, how, *pieces, tick));
            } else {
                self.judge(*job, *step, five(*pieces));
                let waiting = &mut self.holds.get_mut(&no).unwrap().waiting;
                for one in waiting.iter_mut().filter(|one| (one.0, one.1) == (*job, *step)) {
                    one.2 -= pieces;
                }
                waiting.retain(|one| one.2 > 0);
            }
        }
        let of = chosen
            .iter()
            .map(|(job, step, pieces)| (*job, *step, five(*pieces)));
        if !chosen.is_empty() {
            self.says(of.collect(), on_pallet.then_some(hold.load), Some(no));
        }
        if self.undecided(no).is_empty() {
            self.lift(no, hold);
        }
    }

    fn lift(&mut self, no: u32, hold: &Hold) {
        self.holds.remove(&no);
        if !hold.taken_off {
            let load = self.pallets.get_mut(&hold.pallet).unwrap().load.as_mut().unwrap();
            load.hold = None;
            load.lifted = Some((no, hold.clone()));
        }
    }
}

/// Machines and first pieces.
impl Model {
    fn has_article(&self, entry: &Entry) -> bool {
        let formal =
            |approval: &&Approval| (approval.0, approval.1, approval.4) == (entry.job, entry.step, true);
        self.approvals.keys().any(|approval| formal(&approval))
    }

    /// What has to be looked at before more of it is cut from this setup on this machine.
    fn first(&self, entry: &Entry, setup: u32, machine: u8) -> Option<Kind> {
        let step = &self.jobs[&entry.job].steps[entry.step];
        if step.first_article && !self.has_article(entry) {
            return Some(Kind::FirstArticle);
        }
        let same = |one: &&Approval| (one.0, one.1, one.2, one.3) == (entry.job, entry.step, setup, machine);
        (step.first_piece && !self.approvals.keys().any(|one| same(&one))).then_some(Kind::FirstPiece)
    }

    /// First pieces of the same work that are being cut or looked at, on any pallet or off it.
    fn open_firsts(&self, entry: &Entry, except: u32) -> Vec<Kind> {
        let same = |entries: &[Entry]| {
            let is_same = |other: &&Entry| (other.job, other.step) == (entry.job, entry.step);
            entries.iter().find(is_same).copied()
        };
        let on_pallets = self.pallets.values().filter_map(|pallet| {
            let load = pallet.load.as_ref().filter(|load| load.no != except)?;
            let other = same(&load.entries)?;
            match load.stage {
                Stage::InRun(machine) | Stage::Cut(machine) => self.first(&other, pallet.setup?.0, machine),
                Stage::Ready | Stage::Aborted => None,
            }
        });
        let off = self.holds.values().filter(|hold| {
            hold.taken_off
                && hold.kind != Kind::Suspect
                && hold.load != except
                && same(&hold.entries).is_some()
        });
        on_pallets.chain(off.map(|hold| hold.kind)).collect()
    }

    /// By the rules about quality: not held, no first piece open, and on a machine that it runs on.
    pub fn may_be_cut(&self, number: u8, machine: u8) -> bool {
        let pallet = &self.pallets[&number];
        let (Some(load), Some((setup, ..))) = (&pallet.load, pallet.setup) else {
            return false;
        };
        let waits = |entry: &Entry| {
            let open = self.open_firsts(entry, load.no);
            open.contains(&Kind::FirstArticle)
                || (!open.is_empty() && self.first(entry, setup, machine).is_some())
        };
        matches!(load.stage, Stage::Ready | Stage::Aborted)
            && load.hold.is_none()
            && !load.entries.iter().any(waits)
            && load
                .entries
                .iter()
                .all(|entry| self.jobs[&entry.job].steps[entry.step].runs_on(pallet.cell, machine))
    }

    pub fn is_cleared(&self, number: u8, machine: u8) -> bool {
        let pallet = &self.pallets[&number];
        let entries = pallet.load.iter().flat_map(|load| &load.entries);
        entries
            .map(|entry| &self.jobs[&entry.job].steps[entry.step])
            .all(|step| step.is_cleared(pallet.cell, machine))
    }

    fn may_start(&self, number: u8, machine: u8) -> bool {
        self.may_be_cut(number, machine) && (is_attended(self.now_s) || self.is_cleared(number, machine))
    }

    fn on_machine(&mut self, act: &Act) -> Option<bool> {
        let now_s = self.now_s;
        Some(match *act {
            Act::Down { machine } => {
                let machine = self.machines.get_mut(&machine).unwrap();
                let can = machine.down_since_s.is_none() && machine.changed_s.is_none_or(|last| now_s > last);
                if can {
                    machine.down_since_s = Some(now_s);
                    machine.changed_s = Some(now_s);
                }
                can
            }
            Act::Up { machine } => {
                let machine = self.machines.get_mut(&machine).unwrap();
                let can = machine.down_since_s.is_some_and(|since_s| now_s > since_s);
                if let Some(since_s) = machine.down_since_s.take_if(|_| can) {
                    machine.downs.push((since_s, now_s));
                    machine.changed_s = Some(now_s);
                }
                can
            }
            Act::Start { machine } => self.start(machine),
            Act::Pause { machine } => self.turn(machine, false),
            Act::Resume { machine } => self.turn(machine, true),
            Act::Finish { machine } => self.finish(machine),
            Act::Abort { machine } => self.end(machine, Stage::Aborted).is_some(),
            _ => return None,
        })
    }

    fn start(&mut self, number: u8) -> bool {
        let (now_s, no) = (self.now_s, self.tick + 999);
        let machine = &self.machines[&number];
        let spot = Spot::Spindle(number);
        let Some(pallet) = self.standing_at(machine.cell, spot) else {
            return false;
        };
        let queue = self.queues.get(&machine.cell).map_or(&[][..], Vec::as_slice);
        let is_elsewhere =
            |pallet: &u8| matches!(self.pallets[pallet].spot, Spot::Spindle(other) if other != number);
        let mut next = queue
            .iter()
            .filter(|queued| !is_elsewhere(queued) && self.may_start(**queued, number));
        let is_next = next.next().is_none_or(|next| *next == pallet);
        let is_free = machine.run.is_none() && machine.down_since_s.is_none();
        let can = is_free && self.may_start(pallet, number) && is_next;
        if can {
            self.pallets
                .get_mut(&pallet)
                .unwrap()
                .load
                .as_mut()
                .unwrap()
                .stage = Stage::InRun(number);
            let run = Run {
                no,
                pallet,
                paused: false,
                since_s: now_s,
            };
            let machine = self.machines.get_mut(&number).unwrap();
            machine.run = Some(run);
            if let Some(queue) = self.queues.get_mut(&machine.cell) {
                queue.retain(|queued| *queued != pallet);
            }
        }
        can
    }

    /// Pauses what runs, or lets go on what is paused.
    fn turn(&mut self, number: u8, paused: bool) -> bool {
        let now_s = self.now_s;
        let machine = self.machines.get_mut(&number).unwrap();
        let Some(run) = machine.run.as_mut().filter(|run| run.paused == paused) else {
            return false;
        };
        let spans = if paused {
            &mut machine.stopped
        } else {
            &mut machine.cut
        };
        spans.push((run.since_s, now_s));
        run.paused = !paused;
        run.since_s = now_s;
        true
    }

    fn finish(&mut self, number: u8) -> bool {
        if self.machines[&number].run.as_ref().is_none_or(|run| run.paused) {
            return false;
        }
        let pallet = self.end(number, Stage::Cut(number)).unwrap();
        let load = self.load_on(pallet).unwrap();
        let setup = self.pallets[&pallet].setup.unwrap().0;
        let kind = load
            .entries
            .iter()
            .filter_map(|entry| self.first(entry, setup, number))
            .max();
        if let Some(kind) = kind.filter(|_| load.hold.is_none()) {
            self.hold(pallet, kind);
        }
        true
    }

    fn end(&mut self, number: u8, stage: Stage) -> Option<u8> {
        let now_s = self.now_s;
        let machine = self.machines.get_mut(&number).unwrap();
        let run = machine.run.take()?;
        let spans = if run.paused {
            &mut machine.stopped
        } else {
            &mut machine.cut
        };
        spans.push((run.since_s, now_s));
        self.pallets
            .get_mut(&run.pallet)
            .unwrap()
            .load
            .as_mut()
            .unwrap()
            .stage = stage;
        Some(run.pallet)
    }
}
