//! What the invented shop makes, and on what: the sheets that hang in its office. No part, firm or number is real.

/// Which of the shop's three cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum In {
    FiveAxis,
    Horizontal,
    Standalone,
}

pub struct FixtureSheet {
    pub code: &'static str,
    pub name: &'static str,
    pub at: In,
    pub nests: u32,
    pub mount_min: u32,
    pub mass_kg: u32,
    pub copies: u32,
    /// How many of them stand mounted when the book is opened.
    pub mounted: usize,
}

pub struct PartSheet {
    pub code: &'static str,
    pub name: &'static str,
    pub revision: &'static str,
    pub mass_g: u32,
    pub at: In,
    /// Pieces of one order line, from and to.
    pub lots: (i64, i64),
    pub steps: &'static [StepSheet],
}

pub struct StepSheet {
    pub number: u16,
    pub name: &'static str,
    pub work: WorkSheet,
}

pub enum WorkSheet {
    Cut(Cut),
    InHouse {
        hours: u32,
    },
    /// At the vendor, in the vendor's working days.
    Outside {
        days: u32,
    },
}

#[derive(Clone, Copy)]
pub struct Cut {
    pub fixture: &'static str,
    pub minutes: Minutes,
    pub load_min: u32,
    pub unload_min: u32,
    pub first: First,
    /// May run with nobody there.
    pub alone: bool,
}

#[derive(Clone, Copy)]
pub enum Minutes {
    PerLoad(u32),
    PerPiece(u32),
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum First {
    Unchecked,
    /// On one machine of the cell only, so that one approval opens the operation.
    PieceOn(usize),
    Article,
}

pub const CUSTOMERS: [(&str, &str, u8, u8); 4] = [
    ("VELTRIN", "Veltrin Pumps (invented)", 5, 0),
    ("OSMER", "Osmer Drives (invented)", 0, 0),
    ("HALVIK", "Halvik Lifting (invented)", 10, 5),
    ("TARNBY", "Tarnby Optics (invented)", 0, 0),
];

pub const VENDOR: (&str, &str) = ("DORN", "Dorn Anodising (invented)");

pub const CHECKLIST: [&str; 3] = [
    "Coolant above the mark",
    "Chip conveyor empty",
    "Tools of the night checked",
];

const fn fixture(
    code: &'static str,
    name: &'static str,
    at: In,
    (nests, copies): (u32, u32),
    mount_min: u32,
) -> FixtureSheet {
    FixtureSheet {
        code,
        name,
        at,
        nests,
        mount_min,
        mass_kg: 60 + 8 * nests,
        copies,
        mounted: copies as usize,
    }
}

pub const FIXTURES: [FixtureSheet; 10] = [
    fixture("F210A", "Housing, first side", In::FiveAxis, (2, 2), 35),
    fixture("F210B", "Housing, second side", In::FiveAxis, (2, 2), 35),
    fixture("F118", "Bracket tower", In::FiveAxis, (6, 2), 25),
    fixture("F330", "Valve block vices", In::FiveAxis, (4, 1), 30),
    FixtureSheet {
        mounted: 0,
        ..fixture("F902", "Camera body", In::FiveAxis, (4, 2), 50)
    },
    fixture("F404", "Gear carrier ring", In::Horizontal, (8, 2), 40),
    fixture("F077", "Plate tombstone", In::Horizontal, (12, 2), 30),
    fixture("F512", "Lever tombstone", In::Horizontal, (10, 2), 30),
    fixture("V-S1", "Vice, 160 mm", In::Standalone, (1, 1), 25),
    FixtureSheet {
        mounted: 0,
        ..fixture("V-S2", "Vee block", In::Standalone, (1, 1), 40)
    },
];

const fn cut(
    fixture: &'static str,
    minutes: Minutes,
    hands: (u32, u32),
    first: First,
    alone: bool,
) -> WorkSheet {
    WorkSheet::Cut(Cut {
        fixture,
        minutes,
        load_min: hands.0,
        unload_min: hands.1,
        first,
        alone,
    })
}

const fn step(number: u16, name: &'static str, work: WorkSheet) -> StepSheet {
    StepSheet { number, name, work }
}

/// The part that is new in the shop, whose program is proved out.
pub const NEW_PART: &str = "C-902";

pub const PARTS: [PartSheet; 9] = [
    PartSheet {
        code: "H-210",
        name: "Pump housing",
        revision: "C",
        mass_g: 6_400,
        at: In::FiveAxis,
        lots: (12, 20),
        steps: &[
            step(
                10,
                "Mill first side",
                cut("F210A", Minutes::PerLoad(48), (9, 5), First::PieceOn(0), true),
            ),
            step(
                20,
                "Mill second side",
                cut("F210B", Minutes::PerLoad(44), (9, 6), First::Article, true),
            ),
            step(30, "Deburr", WorkSheet::InHouse { hours: 4 }),
        ],
    },
    PartSheet {
        code: "B-118",
        name: "Bearing bracket",
        revision: "A",
        mass_g: 1_150,
        at: In::FiveAxis,
        lots: (36, 72),
        steps: &[
            step(
                10,
                "Mill complete",
                cut("F118", Minutes::PerPiece(11), (10, 7), First::Unchecked, true),
            ),
            step(20, "Anodise", WorkSheet::Outside { days: 3 }),
        ],
    },
    PartSheet {
        code: "V-330",
        name: "Valve block",
        revision: "D",
        mass_g: 3_900,
        at: In::FiveAxis,
        lots: (8, 24),
        steps: &[
            step(
                10,
                "Mill and drill",
                cut("F330", Minutes::PerLoad(82), (11, 7), First::PieceOn(1), false),
            ),
            step(20, "Wash", WorkSheet::InHouse { hours: 2 }),
        ],
    },
    PartSheet {
        code: NEW_PART,
        name: "Camera body",
        revision: "A",
        mass_g: 720,
        at: In::FiveAxis,
        lots: (24, 32),
        steps: &[
            step(
                10,
                "Mill complete",
                cut("F902", Minutes::PerLoad(56), (10, 6), First::Article, true),
            ),
            step(20, "Anodise", WorkSheet::Outside { days: 3 }),
        ],
    },
    PartSheet {
        code: "G-404",
        name: "Gear carrier",
        revision: "B",
        mass_g: 4_800,
        at: In::Horizontal,
        lots: (32, 64),
        steps: &[
            step(
                10,
                "Mill and bore",
                cut("F404", Minutes::PerLoad(96), (14, 9), First::PieceOn(0), true),
            ),
            step(20, "Deburr", WorkSheet::InHouse { hours: 6 }),
        ],
    },
    PartSheet {
        code: "FL-77",
        name: "Flange",
        revision: "A",
        mass_g: 900,
        at: In::Horizontal,
        lots: (40, 100),
        steps: &[step(
            10,
            "Mill complete",
            cut("F077", Minutes::PerPiece(7), (12, 8), First::Unchecked, true),
        )],
    },
    PartSheet {
        code: "MP-15",
        name: "Mounting plate",
        revision: "F",
        mass_g: 1_300,
        at: In::Horizontal,
        lots: (30, 58),
        steps: &[step(
            10,
            "Mill complete",
            cut("F077", Minutes::PerPiece(6), (12, 8), First::Unchecked, true),
        )],
    },
    PartSheet {
        code: "L-512",
        name: "Brake lever",
        revision: "B",
        mass_g: 1_050,
        at: In::Horizontal,
        lots: (30, 60),
        steps: &[
            step(
                10,
                "Mill complete",
                cut("F512", Minutes::PerLoad(74), (13, 8), First::PieceOn(0), false),
            ),
            step(20, "Deburr", WorkSheet::InHouse { hours: 3 }),
        ],
    },
    PartSheet {
        code: "A-12",
        name: "Adapter",
        revision: "A",
        mass_g: 480,
        at: In::Standalone,
        lots: (8, 20),
        steps: &[step(
            10,
            "Mill complete",
            cut("V-S1", Minutes::PerPiece(26), (6, 3), First::Unchecked, false),
        )],
    },
];

/// Turned round on the standalone machine, in another vice.
pub const SHAFT: PartSheet = PartSheet {
    code: "S-31",
    name: "Keyed shaft",
    revision: "A",
    mass_g: 610,
    at: In::Standalone,
    lots: (6, 14),
    steps: &[step(
        10,
        "Mill keyway",
        cut("V-S2", Minutes::PerPiece(21), (6, 3), First::Unchecked, false),
    )],
};
