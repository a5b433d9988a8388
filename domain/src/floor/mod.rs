//! The floor: what people do with pallets, loads and runs, as they tell it. It is a record and advice; nothing here
//! moves, stops or permits anything.

pub(crate) mod act;
mod apply;
mod command;
mod cycle;
mod event;
pub(crate) mod first_piece;
mod held;
mod hold;
pub(crate) mod in_process;
mod loading;
mod mount;
mod moving;
mod opening;
mod opening_jobs;
pub(crate) mod pieces;
mod queue;
mod refusal;
mod run;
#[cfg(test)]
pub(crate) mod tests;
mod unload;
pub(crate) mod work;

pub use command::{
    AbortRun, FinishRun, FinishSetup, LoadPallet, MountFixture, MovePallet, OpenFloor, PauseRun, PlaceHold,
    ResumeRun, SetQueue, StartRun, UnloadPallet, UnmountFixture,
};
pub use event::{
    CellQueueSet, Count, FloorOpened, HoldAccepted, HoldPlaced, OpeningCount, OpeningJob, OpeningLoad,
    OpeningPallet, OpeningSetup, OverridableRule, Override, PalletLoaded, PalletMoved, PalletUnloaded,
    PalletUnmounted, RunAborted, RunFinished, RunPaused, RunResumed, RunStarted, SetupEnded, SetupStarted,
};
pub use loading::Mass;
pub(crate) use mount::{can_carry, where_copies_are};
pub use pieces::job_name;
pub use refusal::{
    ActRefusal, HoldRefusal, LoadRefusal, MountRefusal, MoveRefusal, OpeningRefusal, QueueRefusal,
    RunRefusal, UnloadRefusal,
};
pub use run::runs_on_unattended;
pub(crate) use run::{may_be_cut, next_in_queue, passage};
pub(crate) use work::give_back_tool_life;

use crate::command::Command;
use crate::event::Event;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

pub(crate) use act::Telling;
pub(crate) use apply::apply;

/// Far more pallets than a cell has.
pub const QUEUE_MAX: usize = 500;
/// Pallets, and jobs, of one opening statement.
pub const OPENING_MAX: usize = 2_000;

/// Commands of other topics give nothing.
pub(crate) fn decide(shop: &Shop, command: &Command, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    decide_as_told(shop, command, &Telling::live(now))
}

/// The same of an act that may be told of afterwards.
pub(crate) fn decide_as_told(
    shop: &Shop,
    command: &Command,
    telling: &Telling,
) -> Result<Vec<Event>, Refusal> {
    let now = telling.now;
    let one: Event = match command {
        Command::MountFixture(command) => mount::mount(shop, command, telling)?.into(),
        Command::FinishSetup(command) => mount::finish(shop, command, telling)?.into(),
        Command::UnmountFixture(command) => mount::unmount(shop, command, telling)?.into(),
        Command::LoadPallet(command) => loading::load(shop, command, telling)?.into(),
        Command::MovePallet(command) => return moving::move_pallet(shop, command, telling),
        Command::SetQueue(command) => queue::set_queue(shop, command)?.into(),
        Command::StartRun(command) => run::start(shop, command, telling)?.into(),
        Command::PauseRun(command) => cycle::pause(shop, command, telling)?.into(),
        Command::ResumeRun(command) => cycle::resume(shop, command, telling)?.into(),
        Command::FinishRun(command) => return cycle::finish(shop, command, telling),
        Command::AbortRun(command) => cycle::abort(shop, command, telling)?.into(),
        Command::UnloadPallet(command) => unload::unload(shop, command, telling)?.into(),
        Command::PlaceHold(command) => hold::place(shop, command, telling)?.into(),
        Command::OpenFloor(command) => opening::open(shop, command, now)?.into(),
        _ => return Ok(Vec::new()),
    };
    Ok(vec![one])
}

/// The pattern of all commands of this topic.
macro_rules! floor_commands {
    () => {
        Command::MountFixture(_)
            | Command::FinishSetup(_)
            | Command::UnmountFixture(_)
            | Command::LoadPallet(_)
            | Command::MovePallet(_)
            | Command::SetQueue(_)
            | Command::StartRun(_)
            | Command::PauseRun(_)
            | Command::ResumeRun(_)
            | Command::FinishRun(_)
            | Command::AbortRun(_)
            | Command::UnloadPallet(_)
            | Command::PlaceHold(_)
            | Command::OpenFloor(_)
    };
}
pub(crate) use floor_commands;

/// The pattern of all events of this topic.
macro_rules! floor_events {
    () => {
        Event::SetupStarted(_)
            | Event::SetupEnded(_)
            | Event::PalletUnmounted(_)
            | Event::PalletLoaded(_)
            | Event::PalletMoved(_)
            | Event::CellQueueSet(_)
            | Event::RunStarted(_)
            | Event::RunPaused(_)
            | Event::RunResumed(_)
            | Event::RunFinished(_)
            | Event::RunAborted(_)
            | Event::PalletUnloaded(_)
            | Event::HoldPlaced(_)
            | Event::HoldAccepted(_)
            | Event::FloorOpened(_)
    };
}
pub(crate) use floor_events;
