//! What was told afterwards, and what was put right.

use crate::site::submit;
use anyhow::{Context, Result, bail};
use spindlebook::book::Book;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::correction::{Change, Correct};
use spindlebook_domain::event::Event;
use spindlebook_domain::floor::{Count, MountFixture, MovePallet, UnloadPallet, UnmountFixture};
use spindlebook_domain::ids::{HoldId, PalletId, ParkedId, SetupId, SiteId};
use spindlebook_domain::late::{Act, ReportAct, SettleAct, SettleChoice};
use spindlebook_domain::pallet::{Pallet, Position};
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

pub async fn late(book: &Book, site: SiteId, now: Timestamp) -> Result<()> {
    let (pallet, home) = fixture_on_empty_pallet(book, site, now).await?;
    let does = |command: Command| submit(book, site, command);
    // Nothing is on it that could have been taken off.
    let unload = UnloadPallet {
        pallet,
        counts: Vec::new(),
        at: now,
        note: None,
    };
    does(settled(book, site, unload.into(), SettleChoice::Drop).await?).await?;
    // It had moved on when the taking off of its fixture was told.
    let stand = free_stand(book, site, pallet)?;
    let there = |to| MovePallet {
        pallet,
        to,
        exchange: false,
        at: now,
    };
    does(there(stand).into()).await?;
    let unmount = UnmountFixture { pallet, at: now };
    does(settled(book, site, unmount.into(), SettleChoice::Book { at: None }).await?).await?;
    does(there(home).into()).await?;
    correct(book, site, |event| {
        matches!(event, Event::PalletMoved(_)).then_some(Change::Withdraw)
    })
    .await?;
    correct(book, site, |event| match event {
        Event::RunFinished(event) => Some(Change::Time(event.at.plus_s(1))),
        _ => None,
    })
    .await?;
    correct(book, site, |event| match event {
        Event::PalletUnloaded(event) => one_more_scrapped(&event.counts).map(Change::Counts),
        _ => None,
    })
    .await?;
    // One goes on waiting.
    let again = UnmountFixture { pallet, at: now };
    settled(book, site, again.into(), SettleChoice::Drop).await?;
    Ok(())
}

/// At a load station, and where it stands.
async fn fixture_on_empty_pallet(book: &Book, site: SiteId, at: Timestamp) -> Result<(PalletId, Position)> {
    let shop = book.shop(site).context("the site is there")?;
    let at_station =
        |pallet: &&Pallet| pallet.load.is_none() && matches!(pallet.position, Position::LoadStation { .. });
    for pallet in shop.pallets.values().filter(at_station) {
        let place = (pallet.id, pallet.position);
        if pallet.setup.is_some() {
            return Ok(place);
        }
        for fixture in shop.fixtures.values() {
            let mount = MountFixture {
                pallet: pallet.id,
                setup: SetupId(Uuid::now_v7()),
                fixture: fixture.id,
                copy: None,
                at,
            };
            if submit(book, site, mount).await.is_ok() {
                return Ok(place);
            }
        }
    }
    bail!("no empty pallet at a load station takes a fixture")
}

/// Tells of it, and gives what settles it.
async fn settled(book: &Book, site: SiteId, told: Command, choice: SettleChoice) -> Result<Command> {
    let parked = ParkedId(Uuid::now_v7());
    let report = ReportAct {
        act: Act::of(told).context("an act that can be told of")?,
        parked,
        hold: HoldId(Uuid::now_v7()),
    };
    submit(book, site, report).await?;
    Ok(SettleAct {
        parked,
        choice,
        note: None,
    }
    .into())
}

fn free_stand(book: &Book, site: SiteId, pallet: PalletId) -> Result<Position> {
    let shop = book.shop(site).context("the site is there")?;
    let cell = shop.pallets.get(&pallet).context("the pallet is there")?.cell;
    let is_free = |position: &Position| {
        let mut of_cell = shop.pallets.values().filter(|other| other.cell == cell);
        of_cell.all(|other| other.position != *position)
    };
    let mut stands = (1..=20).map(|number| Position::Stand { number });
    stands.find(is_free).context("a free stand")
}

fn one_more_scrapped(counts: &[Count]) -> Option<Vec<Count>> {
    let changed = counts.iter().enumerate().find_map(|(position, count)| {
        let mut more = *count;
        let piles = [&mut more.good, &mut more.to_inspection, &mut more.to_rework];
        let pile = piles.into_iter().find(|pile| **pile > 0)?;
        *pile -= 1;
        more.scrapped += 1;
        Some((position, more))
    });
    let (position, more) = changed?;
    let mut counts = counts.to_vec();
    counts[position] = more;
    Some(counts)
}

/// The newest entry that takes the change.
async fn correct(book: &Book, site: SiteId, change: impl Fn(&Event) -> Option<Change>) -> Result<()> {
    let entries = book.entries_after(site, 0, 100_000).await?;
    let mut refused = Vec::new();
    for entry in entries.iter().rev() {
        let envelope = &entry.envelope;
        let event = Event::decode(&envelope.kind, envelope.schema, &entry.payload)?;
        let Some(change) = change(&event) else { continue };
        let command = Correct {
            corrects: envelope.seq,
            event,
            told_by: Actor::System,
            recorded_at: envelope.recorded_at,
            change,
            note: None,
        };
        match submit(book, site, command).await {
            Ok(()) => return Ok(()),
            Err(error) => refused.push(error.to_string()),
        }
    }
    bail!("no entry takes the change: {refused:?}")
}
