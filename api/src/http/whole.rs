//! Whole numbers as they come in: `1.0` is taken where 1 is meant (JSON Schema's `integer` says so), and a value
//! out of bounds is told with its bounds.

use serde::de::{Deserialize, Deserializer, Error, Unexpected, Visitor};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, Schema, SchemaFormat, Type};
use utoipa::{PartialSchema, ToSchema};

/// The largest whole number that every JSON reader keeps exact: 2^53 - 1.
pub const EXACT_MAX: i64 = 9_007_199_254_740_991;

/// A whole number from `MIN` to `MAX`, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Whole<const MIN: i64, const MAX: i64>(i64);

impl<const MIN: i64, const MAX: i64> Whole<MIN, MAX> {
    pub fn new(number: i64) -> Option<Self> {
        (MIN..=MAX).contains(&number).then_some(Self(number))
    }

    /// The nearest one, for what was checked when it came in.
    pub fn clamped(number: i64) -> Self {
        Self(number.clamp(MIN, MAX))
    }

    pub const fn get(self) -> i64 {
        self.0
    }

    /// The number in the type that the domain wants. The bounds of the field are the reason why it fits; a field whose
    /// bounds are wider than the type saturates.
    pub fn to<T: TryFrom<i64> + Bounded>(self) -> T {
        T::try_from(self.0).unwrap_or(if self.0 < 0 { T::MIN } else { T::MAX })
    }
}

pub trait Bounded {
    const MIN: Self;
    const MAX: Self;
}

macro_rules! bounded {
    ($($number:ty),+) => {$(
        impl Bounded for $number {
            const MIN: Self = <$number>::MIN;
            const MAX: Self = <$number>::MAX;
        }
    )+};
}
bounded!(u8, u16, u32, u64, usize, i16, i32, i64);

impl<const MIN: i64, const MAX: i64> Serialize for Whole<MIN, MAX> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(self.0)
    }
}

impl<'de, const MIN: i64, const MAX: i64> Deserialize<'de> for Whole<MIN, MAX> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reading<const MIN: i64, const MAX: i64>;

        impl<const MIN: i64, const MAX: i64> Visitor<'_> for Reading<MIN, MAX> {
            type Value = Whole<MIN, MAX>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "a whole number from {MIN} to {MAX}")
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<Self::Value, E> {
                Whole::new(number).ok_or_else(|| E::invalid_value(Unexpected::Signed(number), &self))
            }

            fn visit_u64<E: Error>(self, number: u64) -> Result<Self::Value, E> {
                let signed = i64::try_from(number).ok().and_then(Whole::new);
                signed.ok_or_else(|| E::invalid_value(Unexpected::Unsigned(number), &self))
            }

            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_precision_loss,
                reason = "checked to be whole and exact"
            )]
            fn visit_f64<E: Error>(self, number: f64) -> Result<Self::Value, E> {
                let is_whole = number.fract() == 0.0 && number.abs() <= EXACT_MAX as f64;
                let whole = is_whole.then_some(number as i64).and_then(Whole::new);
                whole.ok_or_else(|| E::invalid_value(Unexpected::Float(number), &self))
            }
        }

        // Not `deserialize_any`: in JSON a string is never a number, in a query every number is a string.
        deserializer.deserialize_i64(Reading)
    }
}

impl<const MIN: i64, const MAX: i64> PartialSchema for Whole<MIN, MAX> {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::Integer)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Int64)))
            .minimum(Some(MIN))
            .maximum(Some(MAX))
            .into()
    }
}

impl<const MIN: i64, const MAX: i64> ToSchema for Whole<MIN, MAX> {
    fn name() -> Cow<'static, str> {
        Cow::Owned(format!("Whole_{MIN}_to_{MAX}").replace('-', "minus_"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Result<i64, String> {
        serde_json::from_str::<Whole<0, 86_400>>(json)
            .map(Whole::get)
            .map_err(|error| error.to_string())
    }

    // JSON Schema 2020-12, section 6.1.1 (validation): `integer` matches any number with a zero fractional part.
    #[test]
    fn a_number_without_a_fraction_is_whole_however_it_is_written() {
        for (json, number) in [
            ("1", 1),
            ("1.0", 1),
            ("1e2", 100),
            ("0", 0),
            ("-0.0", 0),
            ("86400", 86_400),
        ] {
            assert_eq!(read(json), Ok(number), "{json}");
        }
    }

    #[test]
    fn everything_else_is_refused_with_the_bounds() {
        for json in [
            "1.5",
            "-1",
            "86401",
            "1e300",
            "18446744073709551615",
            "\"5\"",
            "null",
            "true",
            "[1]",
        ] {
            let why = read(json).unwrap_err();
            assert!(why.contains("a whole number from 0 to 86400"), "{json}: {why}");
        }
    }

    #[test]
    fn a_field_without_bounds_still_keeps_to_what_json_keeps_exact() {
        type Any = Whole<{ -EXACT_MAX }, EXACT_MAX>;
        assert!(serde_json::from_str::<Any>("9007199254740991").is_ok());
        assert!(serde_json::from_str::<Any>("9007199254740992").is_err());
        assert!(serde_json::from_str::<Any>("9007199254740992.0").is_err());
    }

    #[test]
    fn a_number_goes_into_the_type_that_the_domain_wants() {
        assert_eq!(Whole::<0, 100>::new(7).map(Whole::to::<u8>), Some(7));
        assert_eq!(Whole::<0, 100_000>::new(70_000).map(Whole::to::<u8>), Some(255));
        assert_eq!(Whole::<-5, 5>::new(-3).map(Whole::to::<u32>), Some(0));
    }
}
