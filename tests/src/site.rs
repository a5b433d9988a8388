//! Sites with people and machines in them, made the way the service makes them: by commands, never by inserts.

use anyhow::{Context, Result, bail};
use futures_util::future::try_join_all;
use sha2::{Digest, Sha256};
use spindlebook::book::{Answer, Book, Decision, PrivateRows, Submission, create_site};
use spindlebook::clock::Clock;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::cell::{AddCell, CellKind};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CellId, CommandId, MachineId, PrincipalId, SiteId};
use spindlebook_domain::machine::{AddMachine, Placement};
use spindlebook_domain::role::Role;
use spindlebook_domain::site::OpenSite;
use spindlebook_store::Store;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// A new site in the zone. Open it in a book before anything else.
pub async fn create(store: &Store, clock: &dyn Clock, code: &str, zone: chrono_tz::Tz) -> Result<SiteId> {
    let site = SiteId(Uuid::now_v7());
    let open = OpenSite {
        site,
        code: code.parse()?,
        name: format!("Invented shop {code}").parse()?,
        zone,
    };
    create_site(store, clock, open).await?;
    Ok(site)
}

/// Somebody for each role there is: a machine client where the role is for these, else a person. They have no
/// password; tests that sign in make people of their own.
pub async fn one_principal_per_role(book: &Book, site: SiteId) -> Result<BTreeMap<Role, PrincipalId>> {
    try_join_all(Role::ALL.map(|role| async move { Ok((role, add_principal(book, site, role).await?)) }))
        .await
        .map(|principals| principals.into_iter().collect())
}

pub async fn add_principal(book: &Book, site: SiteId, role: Role) -> Result<PrincipalId> {
    let principal = PrincipalId(Uuid::now_v7());
    let kind = match role {
        Role::Integration | Role::Device => PrincipalKind::Client,
        _ => PrincipalKind::Person,
    };
    submit(
        book,
        site,
        AddPrincipal {
            principal,
            kind,
            roles: BTreeSet::from([role]),
        },
    )
    .await?;
    Ok(principal)
}

/// A pool with one load station and machines named M1, M2 and so on.
pub async fn add_cell_of(book: &Book, site: SiteId, machines: usize) -> Result<(CellId, Vec<MachineId>)> {
    let cell = CellId(Uuid::now_v7());
    let kind = CellKind::Pool {
        load_stations: 1,
        stands: 4,
        exchange_s: 60,
    };
    submit(
        book,
        site,
        AddCell {
            cell,
            code: "C1".parse()?,
            name: "Pool".parse()?,
            kind,
        },
    )
    .await?;
    let ids = (1..=machines).map(|number| async move {
        let machine = MachineId(Uuid::now_v7());
        let add = AddMachine {
            machine,
            placement: Placement::In(cell),
            code: format!("M{number}").parse()?,
            name: format!("Mill {number}").parse()?,
            silent_after_s: None,
        };
        submit(book, site, add).await?;
        anyhow::Ok(machine)
    });
    Ok((cell, try_join_all(ids).await?))
}

/// Fails where the command is refused.
pub async fn submit(book: &Book, site: SiteId, command: impl Into<Command>) -> Result<()> {
    let key = CommandId(Uuid::now_v7());
    let submission = Submission {
        actor: Actor::System,
        device: None,
        key,
        fingerprint: Sha256::digest(key.0.as_bytes()).into(),
        occurred_at: None,
        command: command.into(),
        private: PrivateRows::default(),
        answer: Box::new(outcome),
    };
    let answer = book
        .submit(site, submission)
        .await
        .context("the book did not take a command")?
        .into_answer();
    if answer.status != 201 {
        bail!(
            "a command of the test's own set-up was refused: {}",
            String::from_utf8_lossy(&answer.body)
        );
    }
    Ok(())
}

fn outcome(decision: &Decision<'_>) -> Answer {
    let (status, body) = match decision {
        Decision::Accepted { .. } => (201, Vec::new()),
        Decision::Refused { refusal, .. } => (409, refusal.to_string().into_bytes()),
    };
    Answer {
        status,
        body,
        etag: None,
        location: None,
    }
}
