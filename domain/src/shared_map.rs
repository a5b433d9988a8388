//! A map whose copies share structure: a copy costs one pointer, a change copies one sixty-fourth of the index.
//! The writer decides each batch on a copy of the shop that must not cost the size of the shop.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::collections::BTreeMap;
use std::sync::Arc;

const SHARDS: usize = 64;

/// Where a key lies. Ids are UUIDs whose last byte is random, so the shards fill evenly.
pub trait Shard {
    fn shard(&self) -> usize;
}

macro_rules! shard_by_uuid {
    ($($id:ty),+ $(,)?) => {$(
        impl Shard for $id {
            fn shard(&self) -> usize {
                usize::from(self.0.as_bytes()[15])
            }
        }
    )+};
}

shard_by_uuid!(
    crate::ids::CellId,
    crate::ids::CustomerId,
    crate::ids::FixtureId,
    crate::ids::HoldId,
    crate::ids::JobId,
    crate::ids::MachineId,
    crate::ids::OrderId,
    crate::ids::PalletId,
    crate::ids::ParkedId,
    crate::ids::PartId,
    crate::ids::PlanId,
    crate::ids::PrincipalId,
    crate::ids::BadgeId,
    crate::ids::CommandId,
    crate::ids::RunId,
    crate::ids::SetupId,
    crate::ids::VendorId
);

impl Shard for crate::ids::Seq {
    fn shard(&self) -> usize {
        usize::try_from(*self % 64).unwrap_or(0)
    }
}

type Part<K, V> = Arc<BTreeMap<K, Arc<V>>>;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SharedMap<K, V> {
    shards: Arc<[Part<K, V>; SHARDS]>,
    len: usize,
}

impl<K, V> Default for SharedMap<K, V> {
    fn default() -> Self {
        Self {
            shards: Arc::new(std::array::from_fn(|_| Arc::new(BTreeMap::new()))),
            len: 0,
        }
    }
}

impl<K: Shard + Ord + Clone, V: Clone> SharedMap<K, V> {
    pub const fn len(&self) -> usize {
        self.len
    }

    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    pub fn get(&self, key: &K) -> Option<&V> {
        self.shards[key.shard() % SHARDS].get(key).map(Arc::as_ref)
    }

    pub fn insert(&mut self, key: K, value: V) {
        let new = self.part_mut(&key).insert(key, Arc::new(value)).is_none();
        self.len += usize::from(new);
    }

    /// Changes the value in place, copying it first if another copy of the map still holds it.
    pub fn update(&mut self, key: &K, change: impl FnOnce(&mut V)) {
        if let Some(value) = self.part_mut(key).get_mut(key) {
            change(Arc::make_mut(value));
        }
    }

    pub fn remove(&mut self, key: &K) {
        let gone = self.part_mut(key).remove(key).is_some();
        self.len -= usize::from(gone);
    }

    /// In no order that means anything.
    pub fn iter(&self) -> impl Iterator<Item = (&K, &V)> {
        self.shards
            .iter()
            .flat_map(|part| part.iter().map(|(key, value)| (key, value.as_ref())))
    }

    pub fn values(&self) -> impl Iterator<Item = &V> {
        self.iter().map(|(_, value)| value)
    }

    /// In the order of the keys.
    pub fn sorted(&self) -> BTreeMap<&K, &V> {
        self.iter().collect()
    }

    fn part_mut(&mut self, key: &K) -> &mut BTreeMap<K, Arc<V>> {
        Arc::make_mut(&mut Arc::make_mut(&mut self.shards)[key.shard() % SHARDS])
    }
}

impl<K: Shard + Ord + Clone, V: Clone> FromIterator<(K, V)> for SharedMap<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(pairs: I) -> Self {
        let mut map = Self::default();
        for (key, value) in pairs {
            map.insert(key, value);
        }
        map
    }
}

impl<K: Shard + Ord + Clone + Serialize, V: Clone + Serialize> Serialize for SharedMap<K, V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.sorted())
    }
}

impl<'de, K, V> Deserialize<'de> for SharedMap<K, V>
where
    K: Shard + Ord + Clone + Deserialize<'de>,
    V: Clone + Deserialize<'de>,
{
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Ok(BTreeMap::<K, V>::deserialize(deserializer)?.into_iter().collect())
    }
}
