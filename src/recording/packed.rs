//! Numbers of a recording in few bytes, each as it was to the last digit.
//!
//! A scan tool writes decimals that change little from row to row. A block of them is kept as whole multiples of its last
//! decimal place: a straight line, and how far each number lies above it in as many bytes as that takes. A block with a
//! number that is no decimal of few digits is kept as it is.

/// Powers of ten that a number of up to 15 digits can be divided by without a rounding error before the last.
pub(super) const TENS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];
/// So many numbers are packed together.
const BLOCK: usize = 128;
/// The most digits behind the decimal sign that are packed.
pub(super) const MOST_DIGITS: u8 = 9;
/// Whole numbers below this, 2⁵¹, are exact, and so is what rounds to them.
const EXACT: f64 = 2_251_799_813_685_248.0;
/// The places in a block as numbers.
const PLACES: [f64; BLOCK] = {
    let mut places = [0.0; BLOCK];
    let mut place = 1;
    while place < BLOCK {
        places[place] = places[place - 1] + 1.0;
        place += 1;
    }
    places
};

/// Numbers in their order.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Packed {
    blocks: Vec<Block>,
    /// The last numbers, fewer than a block.
    open: Vec<f64>,
}

/// A block of numbers: number `i` is `(line + slope·i + offset[i]) / ten`, all of them whole numbers.
#[derive(Clone, Debug, PartialEq)]
struct Block {
    line: f64,
    slope: f64,
    ten: f64,
    offsets: Offsets,
}

/// How far numbers lie above the line of their block.
#[derive(Clone, Debug, PartialEq)]
enum Offsets {
    /// They lie on it.
    None,
    Bytes(Box<[u8]>),
    Words(Box<[u16]>),
    Longs(Box<[u32]>),
    /// The numbers themselves.
    Whole(Box<[f64]>),
}

impl Packed {
    pub(super) fn push(&mut self, number: f64) {
        self.open.push(number);
        if self.open.len() == BLOCK {
            self.blocks.push(Block::of(&self.open));
            self.open.clear();
        }
    }

    pub(super) const fn len(&self) -> usize {
        self.blocks.len() * BLOCK + self.open.len()
    }

    /// The number at a place below its length.
    pub(super) fn get(&self, place: usize) -> f64 {
        let (block, within) = (place / BLOCK, place % BLOCK);
        match self.blocks.get(block) {
            Some(block) => block.get(within),
            None => self.open[within],
        }
    }

    /// What reads it place by place.
    pub(super) const fn reader(&self) -> Reader<'_> {
        Reader {
            packed: self,
            block: usize::MAX,
            numbers: [0.0; BLOCK],
        }
    }
}

/// Reads numbers that are near each other faster than one by one: a block at a time.
#[derive(Clone, Debug)]
pub(super) struct Reader<'p> {
    packed: &'p Packed,
    /// The block that is unpacked.
    block: usize,
    numbers: [f64; BLOCK],
}

impl Reader<'_> {
    /// The number at a place below the length.
    #[inline]
    pub(super) fn get(&mut self, place: usize) -> f64 {
        if place / BLOCK != self.block {
            self.unpack(place / BLOCK);
        }
        self.numbers[place % BLOCK]
    }

    fn unpack(&mut self, block: usize) {
        self.block = block;
        match self.packed.blocks.get(block) {
            Some(block) => block.unpack(&mut self.numbers),
            None => self.numbers[..self.packed.open.len()].copy_from_slice(&self.packed.open),
        }
    }
}

impl Block {
    fn of(numbers: &[f64]) -> Self {
        let packed = (0..=MOST_DIGITS).find_map(|digits| Self::decimals(numbers, digits));
        packed.unwrap_or_else(|| Self {
            line: 0.0,
            slope: 0.0,
            ten: 1.0,
            offsets: Offsets::Whole(numbers.into()),
        })
    }

    /// The block of numbers that are decimals of so many digits; `None` where one is not, or they are too far apart.
    fn decimals(numbers: &[f64], digits: u8) -> Option<Self> {
        let ten = TENS[usize::from(digits)];
        let wholes: Option<Vec<f64>> = numbers.iter().map(|number| whole(*number, ten)).collect();
        let wholes = wholes?;
        let (first, last) = (*wholes.first()?, *wholes.last()?);
        let above = |slope: f64| {
            let wholes = wholes.iter().zip(&PLACES);
            wholes.map(move |(whole, place)| whole - slope * place)
        };
        let line = |slope: f64| {
            let (least, most) = above(slope).fold(
                (f64::INFINITY, f64::NEG_INFINITY),
                |(least, most), above| (least.min(above), most.max(above)),
            );
            (most - least, slope, least)
        };
        let sloped = nearest((last - first) / PLACES[numbers.len() - 1]);
        let (span, slope, line) = if line(sloped).0 < line(0.0).0 {
            line(sloped)
        } else {
            line(0.0)
        };
        Some(Self {
            line,
            slope,
            ten,
            offsets: Offsets::of(above(slope).map(|above| above - line), span)?,
        })
    }

    fn get(&self, within: usize) -> f64 {
        let offset = match &self.offsets {
            Offsets::None => 0.0,
            Offsets::Bytes(offsets) => f64::from(offsets[within]),
            Offsets::Words(offsets) => f64::from(offsets[within]),
            Offsets::Longs(offsets) => f64::from(offsets[within]),
            Offsets::Whole(numbers) => return numbers[within],
        };
        (self.line + self.slope * PLACES[within] + offset) / self.ten
    }

    fn unpack(&self, numbers: &mut [f64; BLOCK]) {
        match &self.offsets {
            Offsets::None => self.add([0_u8; BLOCK].as_slice(), numbers),
            Offsets::Bytes(offsets) => self.add(offsets, numbers),
            Offsets::Words(offsets) => self.add(offsets, numbers),
            Offsets::Longs(offsets) => self.add(offsets, numbers),
            Offsets::Whole(whole) => numbers.copy_from_slice(whole),
        }
    }

    /// Adds offsets to the line.
    fn add<T: Copy + Into<f64>>(&self, offsets: &[T], numbers: &mut [f64; BLOCK]) {
        for ((number, place), offset) in numbers.iter_mut().zip(&PLACES).zip(offsets) {
            *number = (self.line + self.slope * place + (*offset).into()) / self.ten;
        }
    }
}

impl Offsets {
    /// Offsets in the fewest bytes that hold the largest; `None` where four do not.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole numbers from 0 to the largest"
    )]
    fn of(offsets: impl Iterator<Item = f64>, largest: f64) -> Option<Self> {
        match largest {
            0.0 => Some(Self::None),
            _ if largest <= f64::from(u8::MAX) => {
                Some(Self::Bytes(offsets.map(|offset| offset as u8).collect()))
            }
            _ if largest <= f64::from(u16::MAX) => {
                Some(Self::Words(offsets.map(|offset| offset as u16).collect()))
            }
            _ if largest <= f64::from(u32::MAX) => {
                Some(Self::Longs(offsets.map(|offset| offset as u32).collect()))
            }
            _ => None,
        }
    }
}

/// A count as a number.
pub(super) fn float(count: usize) -> f64 {
    #[allow(
        clippy::cast_precision_loss,
        reason = "counts of samples are far below 2^52"
    )]
    let number = count as f64;
    number
}

/// The nearest whole number, of numbers up to [`EXACT`]: a sum of that size has no room for a fraction. Faster than
/// `round`, which is a call of a function.
fn nearest(number: f64) -> f64 {
    const FULL: f64 = 3.0 * EXACT;
    (number + FULL) - FULL
}

/// A number to so many digits behind the decimal sign, at most [`MOST_DIGITS`]; as it is where it has too many before.
pub(super) fn rounded(number: f64, digits: u8) -> f64 {
    let ten = TENS[usize::from(digits)];
    let whole = nearest(number * ten);
    if whole.abs() < EXACT {
        whole / ten
    } else {
        number
    }
}

/// The whole number that gives a number exactly when it is divided by a power of ten.
fn whole(number: f64, ten: f64) -> Option<f64> {
    let whole = nearest(number * ten);
    let exact = whole.abs() < EXACT && (whole / ten - number).abs() <= 0.0;
    exact.then_some(whole)
}
