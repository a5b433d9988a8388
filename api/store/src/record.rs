//! What a table looks like and how a struct is one of its rows.

use crate::error::StoreError;
use std::borrow::Cow;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Uuid,
    Int,
    Text,
    Bytes,
}

/// A table whose first column is `site_id`; `columns` are the ones after it, and the first `key` of them make its
/// primary key together with the site.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    pub name: &'static str,
    pub columns: &'static [(&'static str, Kind)],
    pub key: usize,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Value<'a> {
    Uuid(Uuid),
    Int(i64),
    Text(Cow<'a, str>),
    Bytes(Cow<'a, [u8]>),
    Null,
}

impl<'a> Value<'a> {
    pub const fn text(text: &'a str) -> Self {
        Self::Text(Cow::Borrowed(text))
    }

    pub const fn bytes(bytes: &'a [u8]) -> Self {
        Self::Bytes(Cow::Borrowed(bytes))
    }

    pub fn text_or_null(text: Option<&'a str>) -> Self {
        text.map_or(Self::Null, Self::text)
    }

    pub fn int_or_null(int: Option<i64>) -> Self {
        int.map_or(Self::Null, Self::Int)
    }

    /// Texts and bytes by their length only: they may be long, and nobody's business in a log.
    fn in_words(&self) -> String {
        match self {
            Self::Uuid(uuid) => format!("the uuid {uuid}"),
            Self::Int(int) => format!("the integer {int}"),
            Self::Text(text) => format!("a text of {} bytes", text.len()),
            Self::Bytes(bytes) => format!("{} bytes", bytes.len()),
            Self::Null => "nothing".to_owned(),
        }
    }
}

/// A struct that is one row of a table, without the site.
pub trait Record: Sized {
    #[doc(hidden)]
    const TABLE: Table;
    #[doc(hidden)]
    fn values(&self) -> Result<Vec<Value<'_>>, StoreError>;
    #[doc(hidden)]
    fn from_values(values: Values) -> Result<Self, StoreError>;
}

/// The columns of one row, taken from the left.
#[derive(Debug)]
pub struct Values {
    table: &'static str,
    values: std::vec::IntoIter<Value<'static>>,
}

impl Values {
    pub(crate) fn new(table: &'static str, values: Vec<Value<'static>>) -> Self {
        Self {
            table,
            values: values.into_iter(),
        }
    }

    fn unreadable(&self, expected: &str, found: &Value<'_>) -> StoreError {
        StoreError::Unreadable(format!(
            "table {}: expected {expected}, found {}",
            self.table,
            found.in_words()
        ))
    }

    fn next(&mut self) -> Value<'static> {
        self.values.next().unwrap_or(Value::Null)
    }

    pub fn uuid(&mut self) -> Result<Uuid, StoreError> {
        match self.next() {
            Value::Uuid(uuid) => Ok(uuid),
            other => Err(self.unreadable("a uuid", &other)),
        }
    }

    pub fn int(&mut self) -> Result<i64, StoreError> {
        match self.next() {
            Value::Int(int) => Ok(int),
            other => Err(self.unreadable("an integer", &other)),
        }
    }

    pub fn int_or_null(&mut self) -> Result<Option<i64>, StoreError> {
        match self.next() {
            Value::Int(int) => Ok(Some(int)),
            Value::Null => Ok(None),
            other => Err(self.unreadable("an integer or nothing", &other)),
        }
    }

    pub fn text(&mut self) -> Result<String, StoreError> {
        match self.next() {
            Value::Text(text) => Ok(text.into_owned()),
            other => Err(self.unreadable("a text", &other)),
        }
    }

    pub fn text_or_null(&mut self) -> Result<Option<String>, StoreError> {
        match self.next() {
            Value::Text(text) => Ok(Some(text.into_owned())),
            Value::Null => Ok(None),
            other => Err(self.unreadable("a text or nothing", &other)),
        }
    }

    pub fn bytes(&mut self) -> Result<Vec<u8>, StoreError> {
        match self.next() {
            Value::Bytes(bytes) => Ok(bytes.into_owned()),
            other => Err(self.unreadable("bytes", &other)),
        }
    }

    pub fn bytes_of<const N: usize>(&mut self) -> Result<[u8; N], StoreError> {
        let bytes = self.bytes()?;
        <[u8; N]>::try_from(bytes.as_slice())
            .map_err(|_| self.unreadable(&format!("{N} bytes"), &Value::Bytes(Cow::Owned(bytes))))
    }
}
