//! The schema, one step one file. A step names its tables itself, so that an old step never depends on today's code.
//!
//! Instants are microseconds since 1970 (UTC) in `bigint` columns on both engines, identifiers `uuid` on PostgreSQL
//! and 16-byte blobs on SQLite.

mod append_only;
mod m000010_site;
mod m000020_entry;
mod m000030_outcome;
mod m000040_private_text;
mod m000050_account;
mod m000060_refresh_token;
mod m000070_snapshot;
mod m000080_cell;
mod m000090_machine;
mod m000100_principal;
mod m000110_calendar;
mod m000120_plan;
mod m000130_stretch;
mod m000140_thing;
mod m000150_thing_index;
mod m000160_outcome_kept;
mod m000170_refresh_token_index;
mod m000180_daily_report;
mod m000230_pin;
mod m000250_computation;

use sea_orm_migration::prelude::*;

pub struct Migrator;

#[async_trait::async_trait]
impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(m000010_site::Migration),
            Box::new(m000020_entry::Migration),
            Box::new(m000030_outcome::Migration),
            Box::new(m000040_private_text::Migration),
            Box::new(m000050_account::Migration),
            Box::new(m000060_refresh_token::Migration),
            Box::new(m000070_snapshot::Migration),
            Box::new(m000080_cell::Migration),
            Box::new(m000090_machine::Migration),
            Box::new(m000100_principal::Migration),
            Box::new(m000110_calendar::Migration),
            Box::new(m000120_plan::Migration),
            Box::new(m000130_stretch::Migration),
            Box::new(m000140_thing::Migration),
            Box::new(m000150_thing_index::Migration),
            Box::new(m000160_outcome_kept::Migration),
            Box::new(m000170_refresh_token_index::Migration),
            Box::new(m000180_daily_report::Migration),
            Box::new(m000230_pin::Migration),
            Box::new(m000250_computation::Migration),
        ]
    }
}
