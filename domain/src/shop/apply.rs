//! How each event changes the shop, topic by topic. Facts about things that are not there change nothing.

use super::Shop;
use crate::access::{Principal, Standing};
use crate::calendar::CalendarVersions;
use crate::cell::Cell;
use crate::device::end_badges_of;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{CellId, MachineId, PrincipalId};
use crate::machine::{Condition, Machine};
use crate::plan::{Plan, PlanStanding};
use crate::site::{People, Site};
use crate::time::Timestamp;

impl Shop {
    pub(super) fn apply_to_site(&mut self, event: &Event, meta: &EntryMeta) {
        if let Event::SiteOpened(opened) = event {
            self.site = Some(Site {
                id: opened.site,
                code: opened.code.clone(),
                name: opened.name.clone(),
                zone: opened.zone,
                calendar: CalendarVersions::default(),
                changed_seq: meta.seq,
                people: People::default(),
                calendar_changed_seq: meta.seq,
                people_changed_seq: meta.seq,
            });
        }
        let Some(site) = &mut self.site else { return };
        match event {
            Event::SiteChanged(changed) => {
                site.name = changed.name.clone();
                site.zone = changed.zone;
                site.changed_seq = meta.seq;
            }
            Event::SitePeopleSet(set) => {
                site.people = set.people.clone();
                site.people_changed_seq = meta.seq;
            }
            Event::SiteCalendarSet(set) => {
                site.calendar.set(set.valid_from, set.calendar.clone());
                site.calendar_changed_seq = meta.seq;
            }
            _ => {}
        }
    }

    pub(super) fn apply_to_principals(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::PrincipalDisabled(done) => end_badges_of(self, done.principal, meta),
            Event::PrincipalForgotten(done) => end_badges_of(self, done.principal, meta),
            _ => {}
        }
        let mut change = |id: &PrincipalId, change: &dyn Fn(&mut Principal)| {
            self.principals.update(id, |principal| {
                change(principal);
                principal.changed_seq = meta.seq;
            });
        };
        match event {
            Event::PrincipalRolesSet(set) => {
                change(&set.principal, &|principal| {
                    principal.roles.clone_from(&set.roles);
                });
            }
            Event::PrincipalSecretSet(set) => change(&set.principal, &|_| {}),
            Event::PrincipalDisabled(done) => {
                change(&done.principal, &|principal| {
                    principal.standing = Standing::Disabled;
                });
            }
            Event::PrincipalEnabled(done) => {
                change(&done.principal, &|principal| {
                    principal.standing = Standing::Enabled;
                });
            }
            Event::PrincipalForgotten(done) => {
                change(&done.principal, &|principal| {
                    principal.standing = Standing::Forgotten;
                });
            }
            Event::PrincipalAdded(added) => self.principals.insert(
                added.principal,
                Principal {
                    id: added.principal,
                    kind: added.kind,
                    roles: added.roles.clone(),
                    standing: Standing::Enabled,
                    changed_seq: meta.seq,
                },
            ),
            _ => {}
        }
    }

    pub(super) fn apply_to_cells(&mut self, event: &Event, meta: &EntryMeta) {
        let mut change = |id: &CellId, change: &dyn Fn(&mut Cell)| self.cells.update(id, |cell| change(cell));
        match event {
            Event::CellAdded(added) => self.cells.insert(
                added.cell,
                Cell {
                    id: added.cell,
                    code: added.code.clone(),
                    name: added.name.clone(),
                    kind: added.kind,
                    calendar: None,
                    queue: Vec::new(),
                    queue_changed_seq: meta.seq,
                    changed_seq: meta.seq,
                    calendar_changed_seq: meta.seq,
                },
            ),
            Event::CellChanged(changed) => change(&changed.cell, &|cell| {
                cell.code = changed.code.clone();
                cell.name = changed.name.clone();
                cell.kind = changed.kind;
                cell.changed_seq = meta.seq;
            }),
            Event::CellCalendarSet(set) => change(&set.cell, &|cell| {
                cell.calendar
                    .get_or_insert_default()
                    .set(set.valid_from, set.calendar.clone());
                cell.calendar_changed_seq = meta.seq;
            }),
            Event::CellCalendarCleared(cleared) => change(&cleared.cell, &|cell| {
                cell.calendar = None;
                cell.calendar_changed_seq = meta.seq;
            }),
            _ => {}
        }
    }

    pub(super) fn apply_to_machines(&mut self, event: &Event, meta: &EntryMeta) {
        let mut change =
            |id: &MachineId, change: &dyn Fn(&mut Machine)| self.machines.update(id, |m| change(m));
        let heard = |machine: &mut Machine, until: Option<Timestamp>| {
            machine.heard_until = machine.heard_until.max(until);
        };
        match event {
            Event::MachineAdded(added) => self.machines.insert(
                added.machine,
                Machine {
                    id: added.machine,
                    cell: added.cell,
                    code: added.code.clone(),
                    name: added.name.clone(),
                    silent_after_s: added.silent_after_s,
                    condition: Condition::NeverDown,
                    last_reading: None,
                    heard_until: None,
                    tools: Vec::new(),
                    replaced: Vec::new(),
                    run: None,
                    acted_at: None,
                    changed_seq: meta.seq,
                    tools_changed_seq: meta.seq,
                },
            ),
            Event::MachineChanged(changed) => change(&changed.machine, &|machine| {
                machine.code = changed.code.clone();
                machine.name = changed.name.clone();
                machine.silent_after_s = changed.silent_after_s;
                machine.changed_seq = meta.seq;
            }),
            Event::MachineSetDown(set) => change(&set.machine, &|machine| {
                machine.condition = Condition::Down {
                    since: set.at,
                    reason: set.reason,
                };
            }),
            Event::MachineSetUp(set) => change(&set.machine, &|machine| {
                machine.condition = Condition::Up { since: set.at };
            }),
            Event::MachineToolsSet(set) => change(&set.machine, &|machine| {
                machine.set_tools(&set.tools, meta.occurred_at);
                machine.tools_changed_seq = meta.seq;
            }),
            Event::SignalsReceived(received) => {
                change(&received.machine, &|machine| {
                    heard(machine, Some(received.last_at()));
                });
            }
            Event::CyclesReceived(received) => change(&received.machine, &|machine| {
                let ends = received
                    .cycles
                    .iter()
                    .chain(&received.covers)
                    .map(|window| window.to);
                heard(machine, ends.max());
            }),
            Event::ReadingsReceived(received) => change(&received.machine, &|machine| {
                machine.last_reading = received.readings.last().copied().or(machine.last_reading);
            }),
            _ => {}
        }
    }

    pub(super) fn apply_to_plans(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::PlanPosted(posted) => self.plans.insert(
                posted.plan,
                Plan {
                    id: posted.plan,
                    posted_seq: meta.seq,
                    posted_at: meta.recorded_at,
                    slots: u32::try_from(posted.slots.len()).unwrap_or(u32::MAX),
                    standing: PlanStanding::Posted,
                },
            ),
            Event::PlanPublished(published) => {
                self.plans.update(&published.plan, |plan| {
                    plan.standing = PlanStanding::Published {
                        at: meta.recorded_at,
                        seq: meta.seq,
                    };
                });
                self.current_plan = Some(published.plan);
            }
            _ => {}
        }
    }
}
