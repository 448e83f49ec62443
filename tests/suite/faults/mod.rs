//! What an attack on the program found, kept in small. docs/reliability.md has a row for each promise, with the name of its
//! test; the long form is `cargo test --release --test suite faults -- --ignored`.

mod bodies;
mod hostile;
mod killed;
mod mutated;
mod numbers;
mod outputs;
mod paper;
mod targets;

/// Numbers drawn from a seed: splitmix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`, which is above 0.
    fn below(&mut self, end: usize) -> usize {
        let end = u64::try_from(end).unwrap();
        usize::try_from(self.next() % end).unwrap()
    }

    /// One of these.
    fn of<'t, T>(&mut self, all: &'t [T]) -> &'t T {
        &all[self.below(all.len())]
    }
}
