//! Measures of things, as they come and go.

use super::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::size::Size;
use utoipa::ToSchema;

/// 1 mm to 10 m.
pub type LengthMm = Whole<1, 10_000>;
/// 1 g to 100 t.
pub type MassG = Whole<1, 100_000_000>;

/// Length and width lie on the pallet, height stands on it.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Size)]
pub struct SizeDto {
    pub length_mm: LengthMm,
    pub width_mm: LengthMm,
    pub height_mm: LengthMm,
}

impl From<SizeDto> for Size {
    fn from(size: SizeDto) -> Self {
        Self {
            length_mm: size.length_mm.to(),
            width_mm: size.width_mm.to(),
            height_mm: size.height_mm.to(),
        }
    }
}

impl From<Size> for SizeDto {
    fn from(size: Size) -> Self {
        let mm = |length: u32| LengthMm::clamped(i64::from(length));
        Self {
            length_mm: mm(size.length_mm),
            width_mm: mm(size.width_mm),
            height_mm: mm(size.height_mm),
        }
    }
}
