//! Pictures of the shop, so that a start need not fold the whole ledger.

use super::fold::Folded;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use spindlebook_domain::entry::Hash;
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_domain::shop::{SHOP_SCHEMA, Shop};
use spindlebook_domain::time::Timestamp;
use spindlebook_store::site::{Head, SiteRow};
use spindlebook_store::snapshot::{self, Snapshot};
use spindlebook_store::{Session, Store, StoreError, entry};

pub(super) const EVERY: Seq = 10_000;
/// Beside the newest one, in case that one is damaged.
const OTHERS_KEPT: u32 = 1;

/// What is kept: the shop, and which entry it was folded to.
#[derive(Serialize, Deserialize)]
struct Picture {
    hash: Hash,
    recorded_at: Timestamp,
    shop: Shop,
}

/// Only code of the same release and of the same shape of the shop reads a snapshot: another release may fold the
/// same entries to something else.
pub fn schema() -> String {
    format!("{}/{SHOP_SCHEMA}", env!("CARGO_PKG_VERSION"))
}

/// The newest one that fits; those that do not are passed over, for the ledger has all that they hold.
pub(super) async fn newest(session: &mut Session, row: &SiteRow) -> Result<Option<Folded>, StoreError> {
    for snapshot in snapshot::newest_first(session, row.id, &schema(), row.head.seq).await? {
        match read(&snapshot) {
            Some(folded) if is_of_this_ledger(session, row.id, &folded.head).await? => {
                return Ok(Some(folded));
            }
            _ => {
                tracing::warn!(site = %row.id, seq = snapshot.seq, "passing over a snapshot that does not fit");
            }
        }
    }
    Ok(None)
}

/// A failure is only told: everything that a snapshot holds stands in the ledger.
pub(super) async fn write(store: &Store, site: SiteId, folded: &Folded) {
    let written = async {
        let mut transaction = store.begin().await?;
        snapshot::put(&mut transaction, site, &picture(folded)?, OTHERS_KEPT).await?;
        transaction.commit().await
    };
    if let Err(error) = written.await {
        tracing::warn!(%site, %error, "no snapshot at entry {}: {error}", folded.head.seq);
    }
}

fn picture(folded: &Folded) -> Result<Snapshot, StoreError> {
    let picture = Picture {
        hash: folded.head.hash,
        recorded_at: folded.head.recorded_at,
        shop: folded.shop.clone(),
    };
    let body = serde_json::to_vec(&picture).map_err(|error| StoreError::Failed(error.to_string()))?;
    let sha256 = Sha256::digest(&body).to_vec();
    Ok(Snapshot {
        seq: folded.head.seq,
        schema: schema(),
        body,
        sha256,
    })
}

fn read(snapshot: &Snapshot) -> Option<Folded> {
    if Sha256::digest(&snapshot.body).as_slice() != snapshot.sha256 {
        return None;
    }
    let Picture {
        hash,
        recorded_at,
        shop,
    } = serde_json::from_slice(&snapshot.body).ok()?;
    (shop.seq == snapshot.seq).then_some(Folded {
        shop,
        head: Head {
            seq: snapshot.seq,
            hash,
            recorded_at,
        },
    })
}

/// A snapshot may have stayed behind when the ledger was restored from a backup and went on in another way.
async fn is_of_this_ledger(session: &mut Session, site: SiteId, head: &Head) -> Result<bool, StoreError> {
    let Some(before) = head.seq.checked_sub(1) else {
        return Ok(false);
    };
    let found = entry::after(session, site, before, 1).await?;
    Ok(found
        .first()
        .is_some_and(|entry| entry.envelope.seq == head.seq && entry.hash == head.hash))
}
