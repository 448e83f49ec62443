//! Builds again when a file comes to the knowledge folder or leaves it: the compiler itself watches only
//! the files that were there before.

fn main() {
    println!("cargo:rerun-if-changed=knowledge");
    println!("cargo:rerun-if-changed=build.rs");
}
