//! Acts whose time nobody knows: the tablet's clock was not set. They wait, in the order in which they came, until
//! somebody says when it was; until then no hour counts them.

use super::{DeviceRefusal, SET_ASIDE_MAX, SetAside};
use crate::entry::EntryMeta;
use crate::ids::{CommandId, PrincipalId};
use crate::note::NoteRef;
use crate::shop::Shop;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActSetAside {
    pub key: CommandId,
    pub device: PrincipalId,
    pub person: PrincipalId,
    /// What the tablet's clock read.
    pub device_time: Timestamp,
    pub received_at: Timestamp,
    /// Path and body of what was tapped. It may hold free text, so it lies beside the ledger.
    pub request: NoteRef,
}

/// Somebody has said when it was, and it was taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActPlaced {
    pub key: CommandId,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct SetActAside {
    pub act: ActSetAside,
}

#[derive(Clone, Debug)]
pub struct PlaceAct {
    pub key: CommandId,
    pub at: Timestamp,
}

pub fn set_aside(shop: &Shop, command: &SetActAside) -> Result<ActSetAside, DeviceRefusal> {
    if shop.set_aside.len() >= SET_ASIDE_MAX {
        return Err(DeviceRefusal::TooManySetAside { max: SET_ASIDE_MAX });
    }
    Ok(command.act.clone())
}

pub fn place(shop: &Shop, command: &PlaceAct) -> Result<ActPlaced, DeviceRefusal> {
    placeable(shop, command.key, command.at)?;
    Ok(ActPlaced {
        key: command.key,
        at: command.at,
    })
}

/// Whether it waits, and can have been then.
pub fn placeable(shop: &Shop, key: CommandId, at: Timestamp) -> Result<&SetAside, DeviceRefusal> {
    let waiting = shop.set_aside.get(&key);
    let waiting = waiting.ok_or(DeviceRefusal::ActUnknown { key })?;
    let received_at = waiting.act.received_at;
    if at > received_at {
        return Err(DeviceRefusal::PlacedLate { at, received_at });
    }
    Ok(waiting)
}

pub fn apply_set_aside(shop: &mut Shop, event: &ActSetAside, meta: &EntryMeta) {
    let waiting = SetAside {
        act: event.clone(),
        seq: meta.seq,
    };
    shop.set_aside.insert(event.key, waiting);
}
