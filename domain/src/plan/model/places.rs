//! Cells, crews, machines, pallets and fixtures as they stand.

use super::clock::{Days, Stretches};
use super::take::Taking;
use super::{CellNow, CopyNow, Crew, FixtureNow, MachineNow, NEVER, PalletNow, REACH_S};
use crate::cell::{Cell, CellKind};
use crate::floor::can_carry;
use crate::ids::CellId;
use crate::machine::Condition;
use crate::pallet::{Pallet, Position};
use crate::site::Site;

impl Taking<'_> {
    pub(super) fn take_places(&mut self) {
        self.take_cells();
        self.take_machines();
        self.take_fixtures();
        self.take_pallets();
        self.take_full_cells();
    }

    fn take_cells(&mut self) {
        let shop = self.shop;
        let mut cells: Vec<_> = shop.cells.values().collect();
        cells.sort_by(|a, b| a.code.cmp(&b.code));
        // One crew works by the site's calendar; a cell with a calendar of its own has people of its own.
        let site_days = self.days(&self.site.calendar);
        self.model.crews.push(crew(self.site, site_days));
        let site_attended = site_days.attended();
        for cell in cells {
            let own = cell.calendar.as_ref();
            let (number, attended) = match own {
                None => (0, site_attended.clone()),
                Some(versions) => {
                    let days = self.days(versions);
                    self.model.crews.push(crew(self.site, days));
                    (self.model.crews.len() - 1, days.attended())
                }
            };
            self.cell_of.insert(cell.id, self.model.cells.len());
            let people = self.model.crews[number].people.len();
            let index = self.model.cells.len();
            self.model.cells.push(CellNow {
                index,
                ..cell_now(cell, number, people, attended)
            });
        }
    }

    fn days<'b>(&self, versions: &'b crate::calendar::CalendarVersions) -> Days<'b> {
        Days {
            clock: self.model.clock,
            zone: self.site.zone,
            versions,
            reach_s: REACH_S,
        }
    }

    fn take_machines(&mut self) {
        let shop = self.shop;
        let mut machines: Vec<_> = shop.machines.values().collect();
        machines.sort_by(|a, b| a.code.cmp(&b.code));
        for machine in machines {
            let Some(&cell) = self.cell_of.get(&machine.cell) else {
                continue;
            };
            let index = self.model.machines.len();
            self.machine_of.insert(machine.id, index);
            let is_down = matches!(machine.condition, Condition::Down { .. });
            self.model.machines.push(MachineNow {
                id: machine.id,
                cell,
                is_down,
                free_from: if is_down { NEVER } else { 0 },
                pallet: None,
            });
            self.take_tools(index, machine);
        }
    }

    fn take_fixtures(&mut self) {
        let shop = self.shop;
        let mut fixtures: Vec<_> = shop.fixtures.values().collect();
        fixtures.sort_by(|a, b| a.facts.code.cmp(&b.facts.code));
        for fixture in fixtures {
            let index = self.model.fixtures.len();
            self.fixture_of.insert(fixture.id, index);
            self.model.fixtures.push(FixtureNow {
                id: fixture.id,
                mount_s: i64::from(fixture.facts.mount_s),
            });
            for copy in &fixture.copies {
                self.copy_of.insert(copy.id, self.model.copies.len());
                self.model.copies.push(CopyNow {
                    id: copy.id,
                    fixture: index,
                    on: None,
                });
            }
        }
    }

    fn take_pallets(&mut self) {
        let shop = self.shop;
        let mut pallets: Vec<_> = shop.pallets.values().collect();
        pallets.sort_by(|a, b| (&a.facts.code, a.id).cmp(&(&b.facts.code, b.id)));
        let fixtures: Vec<_> = self
            .model
            .fixtures
            .iter()
            .map(|fixture| shop.fixtures.get(&fixture.id))
            .collect();
        for pallet in pallets {
            let Some(&cell) = self.cell_of.get(&pallet.cell) else {
                continue;
            };
            let index = self.model.pallets.len();
            self.pallet_of.insert(pallet.id, index);
            let carries = |fixture: Option<&crate::fixture::Fixture>| {
                fixture.is_some_and(|fixture| can_carry(pallet, fixture))
            };
            let copy = pallet
                .setup
                .as_ref()
                .and_then(|setup| self.copy_of.get(&setup.copy).copied());
            if let Some(copy) = copy {
                self.model.copies[copy].on = Some(index);
            }
            if let Some(setup) = &pallet.setup {
                self.pallet_with_setup.insert(setup.id, index);
            }
            let at_spindle = match pallet.position {
                Position::Spindle { machine } => self.machine_of.get(&machine).copied(),
                _ => None,
            };
            if let Some(machine) = at_spindle {
                self.model.machines[machine].pallet = Some(index);
            }
            self.model.pallets.push(PalletNow {
                id: pallet.id,
                cell,
                copy,
                free_from: 0,
                is_reserved: false,
                carries: fixtures.iter().copied().map(carries).collect(),
                at_spindle,
            });
            self.take_setup(index, pallet);
        }
    }

    /// Somebody is mounting its fixture, or has mounted one for what comes next.
    fn take_setup(&mut self, index: usize, pallet: &Pallet) {
        let cell = self.model.pallets[index].cell;
        let exchange_s = self.model.cells[cell].exchange_s;
        let is_in_machine = self.model.pallets[index].at_spindle.is_some();
        self.model.pallets[index].free_from = if is_in_machine { exchange_s } else { 0 };
        let Some(setup) = &pallet.setup else { return };
        self.model.pallets[index].is_reserved = setup.first_load.is_none();
        if setup.ended_at.is_some() {
            return;
        }
        let mount_s = self.shop.fixtures.get(&setup.fixture);
        let mount_s = mount_s.map_or(0, |fixture| i64::from(fixture.facts.mount_s));
        let until = self
            .model
            .clock
            .not_before(setup.started_at.plus_s(mount_s))
            .max(0);
        let crew = self.model.cells[cell].crew;
        self.model.pallets[index].free_from = until;
        if until > 0 {
            self.model.cells[cell].stations_busy.push(until);
            self.keep_busy(crew, until);
        }
    }

    /// Somebody of the crew is at it until then, if anybody is there.
    fn keep_busy(&mut self, crew: usize, until: i64) {
        let crew = &mut self.model.crews[crew];
        let is_at_it = |person: &usize, crew: &Crew| crew.busy.iter().any(|(other, ..)| other == person);
        let free = (0..crew.people.len()).find(|person| !is_at_it(person, crew));
        if let Some(person) = free.filter(|person| crew.people[*person].contains(0)) {
            crew.busy.push((person, 0, until));
        }
    }

    /// More pallets than there are places beside the spindles.
    fn take_full_cells(&mut self) {
        for (index, cell) in self.model.cells.iter_mut().enumerate() {
            let Some(kind) = self.shop.cells.get(&cell.id).map(|cell| cell.kind) else {
                continue;
            };
            if let CellKind::Pool {
                load_stations,
                stands,
                ..
            } = kind
            {
                let pallets = self.model.pallets.iter().filter(|pallet| pallet.cell == index);
                cell.is_full = pallets.count() > load_stations as usize + stands as usize;
            }
        }
    }

    pub(super) fn cell_index(&self, cell: CellId) -> Option<usize> {
        self.cell_of.get(&cell).copied()
    }
}

fn cell_now(cell: &Cell, crew: usize, people: usize, attended: Stretches) -> CellNow {
    let (is_standalone, exchange_s, load_stations) = match cell.kind {
        CellKind::Standalone => (true, 0, None),
        CellKind::Pool {
            load_stations,
            exchange_s,
            ..
        } => {
            let stations = load_stations as usize;
            let binding = (stations < people).then_some(stations);
            (false, i64::from(exchange_s), binding)
        }
    };
    CellNow {
        id: cell.id,
        index: 0,
        crew,
        is_standalone,
        exchange_s,
        load_stations,
        stations_busy: Vec::new(),
        is_full: false,
        longest_attended_s: attended.longest_s(),
        attended,
    }
}

/// A shift that nobody counted has one person.
fn crew(site: &Site, days: Days<'_>) -> Crew {
    let people_in = |shift: &crate::code::Name| {
        let counted = site.people.headcount.iter().find(|one| one.shift == *shift);
        counted.map_or(1, |one| one.people)
    };
    let counted = site.people.headcount.iter().map(|one| one.people);
    // Without a calendar nobody has told of a shift either.
    let most = if days.versions.is_empty() {
        1
    } else {
        counted.max().unwrap_or(1).max(1)
    };
    let people: Vec<_> = (0..most)
        .map(|person| days.staffed(|shift| people_in(shift) > person))
        .take_while(|stretches| !stretches.as_slice().is_empty())
        .collect();
    Crew {
        people,
        busy: Vec::new(),
    }
}
