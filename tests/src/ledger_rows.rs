//! The ledger as it lies in the database, read past the service, and held against what clients were promised.

use crate::load::Tally;
use anyhow::Result;
use sqlx::{Connection, PgConnection, SqliteConnection};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// What the checks need of an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LedgerRow {
    pub site_id: Uuid,
    pub seq: i64,
    pub command_id: Uuid,
    pub kind: String,
    pub recorded_at: i64,
}

const ROWS: &str = "SELECT site_id, seq, command_id, kind, recorded_at FROM entry ORDER BY site_id, seq";

/// Every entry of every site, in the order of their seqs.
pub async fn read(url: &str) -> Result<Vec<LedgerRow>> {
    type Columns = (Uuid, i64, Uuid, String, i64);
    let rows: Vec<Columns> = if url.starts_with("sqlite:") {
        sqlx::query_as(ROWS)
            .fetch_all(&mut SqliteConnection::connect(url).await?)
            .await?
    } else {
        sqlx::query_as(ROWS)
            .fetch_all(&mut PgConnection::connect(url).await?)
            .await?
    };
    let named = |(site_id, seq, command_id, kind, recorded_at)| LedgerRow {
        site_id,
        seq,
        command_id,
        kind,
        recorded_at,
    };
    Ok(rows.into_iter().map(named).collect())
}

/// What is wrong with the ledger after that load, when every client has its last answer.
pub fn complaints(rows: &[LedgerRow], tally: &Tally) -> Vec<String> {
    let mut complaints = Vec::new();
    complaints.extend(chain_complaints(rows));
    let mut seqs_of: BTreeMap<Uuid, Vec<i64>> = BTreeMap::new();
    for row in rows {
        seqs_of.entry(row.command_id).or_default().push(row.seq);
    }
    for promised in &tally.acknowledged {
        let found = seqs_of.get(&promised.key).map_or(0, Vec::len);
        if found != promised.entries {
            let (key, entries, tries) = (promised.key, promised.entries, promised.tries);
            complaints.push(format!(
                "{key} was acknowledged after {tries} tries: {found} entries instead of {entries}"
            ));
        }
    }
    for (command, seqs) in &seqs_of {
        if seqs.windows(2).any(|pair| pair[1] != pair[0] + 1) {
            complaints.push(format!(
                "the entries of {command} do not stand together: {seqs:?}"
            ));
        }
    }
    complaints
}

/// `seq` is 1, 2, 3 … for each site, and `recorded_at` never decreases.
fn chain_complaints(rows: &[LedgerRow]) -> Vec<String> {
    let mut complaints = Vec::new();
    let sites: BTreeSet<Uuid> = rows.iter().map(|row| row.site_id).collect();
    for site in sites {
        let mut last_recorded_at = i64::MIN;
        let of_site = rows.iter().filter(|row| row.site_id == site);
        for (row, expected) in of_site.zip(1..) {
            if row.seq != expected {
                complaints.push(format!("site {site}: seq {} where {expected} should be", row.seq));
                break;
            }
            if row.recorded_at < last_recorded_at {
                complaints.push(format!("site {site}: recorded_at went back at seq {}", row.seq));
            }
            last_recorded_at = row.recorded_at;
        }
    }
    complaints
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::Acknowledged;
    use std::time::Instant;

    fn row(seq: i64, command: u128) -> LedgerRow {
        let command_id = Uuid::from_u128(command);
        LedgerRow {
            site_id: Uuid::from_u128(9),
            seq,
            command_id,
            kind: "machine.set_up".into(),
            recorded_at: seq,
        }
    }

    fn promised(commands: &[(u128, usize)]) -> Tally {
        let now = Instant::now();
        let acknowledged = commands.iter().map(|(command, entries)| Acknowledged {
            key: Uuid::from_u128(*command),
            entries: *entries,
            tries: 1,
            sent_at: now,
            at: now,
            body: Vec::new(),
        });
        Tally {
            acknowledged: acknowledged.collect(),
            ..Tally::default()
        }
    }

    #[test]
    fn a_whole_ledger_has_no_complaint() {
        assert_eq!(
            complaints(&[row(1, 1), row(2, 2), row(3, 2)], &promised(&[(1, 1), (2, 2)])),
            Vec::<String>::new()
        );
    }

    #[test]
    fn every_kind_of_loss_is_seen() {
        let one = promised(&[(1, 1)]);
        for (wrong, rows, tally) in [
            ("a lost command", vec![row(1, 7)], &one),
            ("a command taken twice", vec![row(1, 1), row(2, 1)], &one),
            (
                "half a command",
                vec![row(1, 1), row(2, 2)],
                &promised(&[(1, 1), (2, 2)]),
            ),
            ("a gap", vec![row(1, 1), row(3, 2)], &one),
            ("a start that is not 1", vec![row(2, 1)], &one),
            ("a seq twice", vec![row(1, 1), row(1, 2)], &one),
            (
                "entries of one command apart",
                vec![row(1, 2), row(2, 1), row(3, 2)],
                &promised(&[(1, 1), (2, 2)]),
            ),
        ] {
            assert!(!complaints(&rows, tally).is_empty(), "{wrong} was not seen");
        }
        let mut back = vec![row(1, 1), row(2, 2)];
        back[1].recorded_at = 0;
        assert_eq!(complaints(&back, &one).len(), 1);
    }
}
