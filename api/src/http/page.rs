//! Pages of lists: `limit` items, then `next_cursor`, from which the next page goes on.

use super::text;
use super::whole::{EXACT_MAX, Whole};
use crate::problem::{Code, FieldError, Place, Problem};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use utoipa::IntoParams;

pub const LIMIT_DEFAULT: usize = 50;
pub const LIMIT_MAX: usize = 200;

/// More than the most is no fault: it gives the most.
pub type Limit = Whole<1, EXACT_MAX>;

pub fn limit(asked: Option<Limit>) -> usize {
    asked
        .map_or(LIMIT_DEFAULT, Whole::to::<usize>)
        .clamp(1, LIMIT_MAX)
}

/// The parameters of a list without a filter.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PageQuery {
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// A list with its filter. A cursor of another list or another filter is refused: it would skip or repeat items.
#[derive(Clone, Debug)]
pub struct Listing {
    bound_to: [u8; 8],
}

impl Listing {
    /// `filter`: everything that chooses the items and their order.
    pub fn of(list: &str, filter: &impl std::fmt::Debug) -> Self {
        let digest = Sha256::digest(format!("{list} {filter:?}"));
        let mut bound_to = [0; 8];
        bound_to.copy_from_slice(&digest[..8]);
        Self { bound_to }
    }

    /// Where the page after the item with this key begins.
    pub fn cursor<K: Serialize>(&self, last: &K) -> Result<String, Problem> {
        let key = serde_json::to_vec(last).map_err(|error| Problem::fault(&error))?;
        let mut bytes = self.seal(&key).to_vec();
        bytes.extend(key);
        Ok(URL_SAFE_NO_PAD.encode(bytes))
    }

    /// The key of the last item of the page before.
    pub fn after<K: DeserializeOwned>(&self, cursor: Option<&str>) -> Result<Option<K>, Problem> {
        let Some(cursor) = cursor else { return Ok(None) };
        let bytes = URL_SAFE_NO_PAD.decode(cursor).unwrap_or_default();
        let read = bytes
            .split_at_checked(8)
            .filter(|(seal, key)| *seal == self.seal(key));
        let key = read.and_then(|(_, key)| serde_json::from_slice(key).ok());
        key.map(Some).ok_or_else(|| {
            let detail = "it is no cursor of this list with this filter: take `next_cursor` of the page before, \
                          or leave it out to begin anew";
            let field = FieldError::at(Place::parameter("cursor"), "invalid", detail);
            let sentence = format!("Parameter cursor: {detail}.");
            Problem::new(Code::QueryInvalid, sentence).with_field(field)
        })
    }

    /// Cuts a sorted list to the page after `after`, and says where the next one begins.
    pub fn page<'a, T, K: Serialize + Ord>(
        &self,
        sorted: impl IntoIterator<Item = &'a T>,
        after: Option<&K>,
        limit: usize,
        key: impl Fn(&T) -> K,
    ) -> Result<(Vec<&'a T>, Option<String>), Problem> {
        let mut rest = sorted
            .into_iter()
            .filter(|item| after.is_none_or(|after| key(item) > *after));
        let items: Vec<_> = rest.by_ref().take(limit).collect();
        let last = items.last().filter(|_| rest.next().is_some());
        let next = last.map(|last| self.cursor(&key(last))).transpose()?;
        Ok((items, next))
    }

    /// Not a secret: it tells a slip, a change or a mix-up, and a cursor gives nothing that the list does not.
    fn seal(&self, key: &[u8]) -> [u8; 8] {
        let digest = Sha256::new()
            .chain_update(self.bound_to)
            .chain_update(key)
            .finalize();
        let mut seal = [0; 8];
        seal.copy_from_slice(&digest[..8]);
        seal
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn walking_the_pages_gives_every_item_once() {
        let listing = Listing::of("numbers", &());
        let numbers: Vec<u32> = (0..23).collect();
        let (mut seen, mut cursor) = (Vec::new(), None::<String>);
        loop {
            let after = listing.after::<u32>(cursor.as_deref()).unwrap();
            let (items, next) = listing
                .page(&numbers, after.as_ref(), 5, |number| *number)
                .unwrap();
            seen.extend(items.into_iter().copied());
            match next {
                Some(next) => cursor = Some(next),
                None => break,
            }
        }
        assert_eq!(seen, numbers);
    }

    #[test]
    fn a_cursor_of_another_filter_is_refused() {
        let cursor = Listing::of("machines", &"cell A").cursor(&7).unwrap();
        assert!(
            Listing::of("machines", &"cell A")
                .after::<u32>(Some(&cursor))
                .is_ok()
        );
        for other in [
            Listing::of("machines", &"cell B"),
            Listing::of("cells", &"cell A"),
        ] {
            let problem = other.after::<u32>(Some(&cursor)).unwrap_err();
            assert_eq!(
                (problem.status().as_u16(), problem.code()),
                (400, "query.invalid")
            );
        }
        for no_cursor in ["", "x", "AAAA", "\u{e4}", &cursor[1..]] {
            assert!(
                Listing::of("machines", &"cell A")
                    .after::<u32>(Some(no_cursor))
                    .is_err()
            );
        }
    }

    #[test]
    fn a_limit_is_never_refused_for_being_too_high() {
        let asked = [None, Some(1), Some(7), Some(9_999)];
        assert_eq!(
            asked.map(|asked| limit(asked.and_then(Limit::new))),
            [50, 1, 7, 200]
        );
    }
}
