use super::{Ledger, THE_SENDER, new_key, submission};
use sea_orm::{ConnectionTrait, DatabaseConnection, DbBackend, Statement};
use serde_json::json;
use spindlebook::book::rebuild;
use spindlebook::clock::Clock;
use spindlebook_domain::access::{
    AddPrincipal, DisablePrincipal, EnablePrincipal, ForgetPrincipal, PrincipalKind, SetPrincipalRoles,
    SetPrincipalSecret,
};
use spindlebook_domain::calendar::Calendar;
use spindlebook_domain::cell::{AddCell, CellKind, ChangeCell, ClearCellCalendar, SetCellCalendar};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CellId, MachineId, PrincipalId, Track};
use spindlebook_domain::machine::{AddMachine, ChangeMachine, Placement};
use spindlebook_domain::role::Role;
use spindlebook_domain::site::{ChangeSite, SetSiteCalendar};
use spindlebook_domain::stretches::{DayMarks, Layer, LayerDays, needs_of};
use spindlebook_domain::time::Window;
use spindlebook_store::read;
use spindlebook_tests::golden::{catalogue, late, tablets, work};
use spindlebook_tests::on_both_engines;
use std::collections::BTreeSet;
use uuid::Uuid;

fn calendar(starts: &str) -> Calendar {
    let calendar = json!({
        "shifts": [{"name": "Early", "weekday": "Mon", "starts": starts, "ends": "14:00",
                    "breaks": [{"starts": "10:00", "ends": "10:15"}]}],
        "exceptions": [{"holiday": {"date": "2026-12-25", "name": "Christmas"}}, {"closed": {"date": "2026-12-28"}},
                       {"overtime": {"date": "2026-12-29", "name": "Stock", "starts": "08:00", "ends": "12:00"}}]
    });
    serde_json::from_value(calendar).unwrap()
}

/// Commands of every topic but the machine's own history.
pub async fn everything_else(ledger: &Ledger) {
    let cell = CellId(Uuid::now_v7());
    let commands = [
        about_cells(cell),
        about_machines(cell),
        about_principals(),
        catalogue(cell).unwrap(),
        work(ledger.clock.now()).unwrap(),
        about_tablets(ledger, cell),
    ]
    .concat();
    let sent = commands
        .into_iter()
        .map(|command| ledger.book.submit(ledger.site, submission(new_key(), command)));
    for submitted in futures_util::future::join_all(sent).await {
        let answer = submitted.unwrap().into_answer();
        assert_eq!(answer.status, 201, "{:?}", String::from_utf8(answer.body));
    }
    late(&ledger.book, ledger.site, ledger.clock.now()).await.unwrap();
}

fn about_cells(cell: CellId) -> Vec<Command> {
    let other = CellId(Uuid::now_v7());
    let valid_from = "2026-11-02".parse().unwrap();
    let kind = CellKind::Pool {
        load_stations: 1,
        stands: 6,
        exchange_s: 90,
    };
    let code = |text: &str| text.parse().unwrap();
    let name = |text: &str| text.parse().unwrap();
    let zone = chrono_tz::Europe::Berlin;
    vec![
        ChangeSite {
            name: name("Renamed shop"),
            zone,
            expected: None,
        }
        .into(),
        SetSiteCalendar {
            valid_from,
            calendar: calendar("06:00"),
            expected: None,
        }
        .into(),
        AddCell {
            cell,
            code: code("C1"),
            name: name("Pool"),
            kind,
        }
        .into(),
        AddCell {
            cell: other,
            code: code("C2"),
            name: name("Pool"),
            kind,
        }
        .into(),
        ChangeCell {
            cell,
            code: code("C1"),
            name: name("Big pool"),
            kind,
            expected: None,
        }
        .into(),
        SetCellCalendar {
            cell,
            valid_from,
            calendar: calendar("07:00"),
            expected: None,
        }
        .into(),
        SetCellCalendar {
            cell: other,
            valid_from,
            calendar: calendar("08:00"),
            expected: None,
        }
        .into(),
        ClearCellCalendar {
            cell: other,
            expected: None,
        }
        .into(),
    ]
}

fn about_machines(cell: CellId) -> Vec<Command> {
    let machine = MachineId(Uuid::now_v7());
    let add = AddMachine {
        placement: Placement::In(cell),
        silent_after_s: Some(900),
        ..super::add_machine(machine, "M9")
    };
    let change = ChangeMachine {
        machine,
        code: "M8".parse().unwrap(),
        name: "Horizontal".parse().unwrap(),
        silent_after_s: Some(600),
        expected: None,
    };
    vec![add.into(), change.into()]
}

fn about_tablets(ledger: &Ledger, cell: CellId) -> Vec<Command> {
    let (person, device) = (PrincipalId(Uuid::now_v7()), PrincipalId(Uuid::now_v7()));
    let add = |principal, kind, role| AddPrincipal {
        principal,
        kind,
        roles: BTreeSet::from([role]),
    };
    let mut commands = vec![
        add(person, PrincipalKind::Person, Role::Operator).into(),
        add(device, PrincipalKind::Client, Role::Device).into(),
    ];
    commands.extend(tablets(device, person, cell, ledger.clock.now()));
    commands
}

fn about_principals() -> Vec<Command> {
    let (person, client) = (PrincipalId(Uuid::now_v7()), PrincipalId(Uuid::now_v7()));
    let roles = |roles: &[Role]| roles.iter().copied().collect::<BTreeSet<_>>();
    let add = |principal, kind, roles| AddPrincipal {
        principal,
        kind,
        roles,
    };
    vec![
        add(
            person,
            PrincipalKind::Person,
            roles(&[Role::Planner, Role::Operator]),
        )
        .into(),
        add(client, PrincipalKind::Client, roles(&[Role::Integration])).into(),
        // Whoever sends all this decides about held pieces too.
        add(THE_SENDER, PrincipalKind::Person, roles(&[Role::Inspector])).into(),
        SetPrincipalRoles {
            principal: person,
            roles: roles(&[Role::Viewer]),
            expected: None,
        }
        .into(),
        SetPrincipalSecret {
            principal: person,
            expected: None,
        }
        .into(),
        DisablePrincipal {
            principal: client,
            expected: None,
        }
        .into(),
        EnablePrincipal {
            principal: client,
            expected: None,
        }
        .into(),
        ForgetPrincipal { principal: person }.into(),
    ]
}

const TABLES: [&str; 7] = [
    "cell",
    "machine",
    "principal",
    "calendar",
    "plan",
    "stretch",
    "thing",
];

/// Every row of every read table, as the engine itself prints it.
async fn dumped(raw: &DatabaseConnection) -> Vec<String> {
    let backend = raw.get_database_backend();
    let mut dumped = Vec::new();
    for table in TABLES {
        let columns: &[&str] = match table {
            "cell" => &["#id", "code", "name", "body", "changed_seq"],
            "machine" => &["#id", "#cell_id", "code", "name", "body", "changed_seq"],
            "principal" => &["#id", "kind", "roles", "body", "changed_seq"],
            "calendar" => &["#id", "body", "changed_seq"],
            "thing" => &["#id", "kind", "code", "name", "body", "changed_seq"],
            "plan" => &[
                "#id",
                "posted_seq",
                "coalesce(published_at, 0)",
                "coalesce(published_seq, 0)",
                "%slots",
            ],
            _ => &["#track_id", "layer", "day", "%packed", "changed_seq"],
        };
        let one = |column: &&str| match (backend, column.split_at(1)) {
            (DbBackend::Postgres, ("#", uuid)) => format!("{uuid}::text"),
            (DbBackend::Postgres, ("%", bytes)) => format!("encode({bytes}, 'hex')"),
            (_, ("#" | "%", bytes)) => format!("hex({bytes})"),
            _ => (*column).to_owned(),
        };
        let line = columns.iter().map(one).collect::<Vec<_>>().join(" || ' ' || ");
        let sql = format!("SELECT {line} AS line FROM {table} ORDER BY 1");
        for row in raw
            .query_all_raw(Statement::from_string(backend, sql))
            .await
            .unwrap()
        {
            dumped.push(format!("{table} {}", row.try_get::<String>("", "line").unwrap()));
        }
    }
    dumped
}

fn wanted(machines: &[MachineId], window: Window) -> Vec<(Track, LayerDays)> {
    let needs = needs_of(window).machine;
    let machines = machines.iter().map(|machine| Track::from(*machine));
    machines
        .flat_map(|track| needs.map(|need| (track, need)))
        .collect()
}

on_both_engines! {
    async fn a_rebuild_gives_the_same_rows(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        everything_else(&ledger).await;
        let raw = ledger.raw().await;
        let before = dumped(&raw).await;
        for table in TABLES {
            assert!(before.iter().any(|row| row.starts_with(table)), "no row of {table} to compare");
            raw.execute_unprepared(&format!("DELETE FROM {table}")).await.unwrap();
        }
        let mut told = Vec::new();
        let report = rebuild(&ledger.store, ledger.site, &mut |progress| told.push(progress)).await.unwrap();
        assert_eq!(report.entries, ledger.seq());
        assert_eq!(report.rows, before.len() as u64);
        assert_eq!(told.last().map(|progress| (progress.done, progress.total)), Some((ledger.seq(), ledger.seq())));
        assert_eq!(dumped(&raw).await, before);
        // And once more over rows that are there.
        rebuild(&ledger.store, ledger.site, &mut |_| {}).await.unwrap();
        assert_eq!(dumped(&raw).await, before);
    }

    async fn rows_that_came_batch_by_batch_are_those_of_one_batch(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.clock.set(super::START.plus_s(86_400));
        let rows: Vec<_> = (0..60).map(|n| (super::START.plus_s(n * 60), super::state(n))).collect();
        for (machine, step) in [(MachineId(Uuid::now_v7()), 1), (MachineId(Uuid::now_v7()), 60)] {
            ledger.does(super::add_machine(machine, &format!("B{step}"))).await;
            for part in rows.chunks(step) {
                assert_eq!(ledger.does(super::signals(machine, part.to_vec())).await, 201);
            }
            let window = Window::new(rows[0].0, rows[59].0);
            let mut session = ledger.store.session().await.unwrap();
            let found = read::stretches_for(&mut session, ledger.site, &wanted(&[machine], window)).await.unwrap();
            assert_eq!(found.iter().map(|row| row.marks.len()).collect::<Vec<_>>(), [60]);
        }
    }

    async fn a_window_gets_its_rows_and_one_on_each_side(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.clock.set(super::START.plus_s(100 * 86_400));
        let day = super::START.utc_day();
        for n in [0, 10, 11, 12, 20, 30] {
            ledger.does(super::signal(ledger.machine, n * 86_400)).await;
        }
        let other = MachineId(Uuid::now_v7());
        ledger.does(super::add_machine(other, "M2")).await;
        ledger.does(super::signal(other, 11 * 86_400)).await;
        let at = |n: i64| super::START.plus_s(n * 86_400);
        let mut session = ledger.store.session().await.unwrap();
        let mut days = Vec::new();
        for (from, to) in [(11, 13), (11, 12), (15, 16), (40, 41), (-5, -4)] {
            let needs = wanted(&[ledger.machine], Window::new(at(from), at(to)));
            let rows = read::stretches_for(&mut session, ledger.site, &needs).await.unwrap();
            assert!(rows.iter().all(|row| row.layer == Layer::Signals && row.track == ledger.machine.into()));
            days.push(rows.iter().map(|row| row.day - day).collect::<Vec<_>>());
        }
        // A window that begins at six in the morning ends on the day that it reaches into.
        assert_eq!(days, [vec![10, 11, 12, 20], vec![10, 11, 12, 20], vec![12, 20], vec![30], vec![0]]);
        let needs = wanted(&[ledger.machine, other], Window::new(at(11), at(12)));
        let both = read::stretches_for(&mut session, ledger.site, &needs).await.unwrap();
        assert_eq!(both.len(), 5);
        let nowhere = DayMarks::new(Layer::Signals);
        assert!(both.iter().all(|row| row.marks != nowhere));
    }

    async fn the_plans_in_force_are_found_by_when_they_were_published(engine) {
        let ledger = Ledger::new(engine).await;
        let hour = |n: i64| super::START.plus_s(n * 3_600);
        let mut plans = Vec::new();
        for published in [1, 2, 5] {
            ledger.clock.set(hour(published));
            let plan = spindlebook_domain::ids::PlanId(Uuid::now_v7());
            let slot = spindlebook_domain::plan::Slot { machine: ledger.machine, starts_at: hour(10), cycle_s: 60 };
            ledger.does(spindlebook_domain::plan::PostPlan { plan, slots: vec![slot] }).await;
            ledger.does(spindlebook_domain::plan::PublishPlan { plan }).await;
            plans.push(plan);
        }
        let mut session = ledger.store.session().await.unwrap();
        let expected = [
            ((0, 1), vec![]),
            ((0, 2), vec![0]),
            ((1, 2), vec![0]),
            ((1, 3), vec![0, 1]),
            ((3, 4), vec![1]),
            ((4, 9), vec![1, 2]),
            ((6, 7), vec![2]),
        ];
        for ((from, to), right) in expected {
            let window = Window::new(hour(from), hour(to));
            let found = read::plans_in_force(&mut session, ledger.site, window).await.unwrap();
            let found: Vec<_> = found.iter().map(|plan| plan.id).collect();
            let right: Vec<_> = right.into_iter().map(|number: usize| plans[number]).collect();
            assert_eq!(found, right, "{from}..{to}");
        }
    }
}
