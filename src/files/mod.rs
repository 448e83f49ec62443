//! Files written whole or not at all: nobody ever finds half of one, and what stood there stays until the new text
//! is on the disk. And the fingerprint of a file.

use std::fmt::Write as _;
use std::fs;
use std::io::{self, Write as _};
use std::path::Path;

use sha2::{Digest as _, Sha256};
use tempfile::{Builder, NamedTempFile};

/// Writes a file that must not be there yet.
///
/// # Errors
///
/// `AlreadyExists` where it is there; else what the system refuses. Nothing is left behind.
pub fn create(path: &Path, text: &str) -> io::Result<()> {
    complete(path, text)?.persist_noclobber(path)?;
    Ok(())
}

/// Writes a file, in place of the one that is there if one is; that one's permissions stay. A link stays a link, and
/// a device or a pipe is written to.
///
/// # Errors
///
/// What the system refuses. What was there is then as it was.
pub fn replace(path: &Path, text: &str) -> io::Result<()> {
    let (path, permissions) = match fs::metadata(path) {
        Ok(there) if !there.is_file() => return fs::write(path, text),
        Ok(there) => (fs::canonicalize(path)?, Some(there.permissions())),
        Err(_) => (path.to_owned(), None),
    };
    let complete = complete(&path, text)?;
    if let Some(permissions) = permissions {
        complete.as_file().set_permissions(permissions)?;
    }
    complete.persist(&path)?;
    Ok(())
}

/// The text in a file of a passing name in the folder of `path`, on the disk.
fn complete(path: &Path, text: &str) -> io::Result<NamedTempFile> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let mut builder = Builder::new();
    builder.prefix(".halfsplit-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As any new file has them: less what the user's mask takes.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder.unwrap_or(Path::new(".")))?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// The fingerprint of a file's bytes: the first 16 hexadecimal digits of its SHA-256 (FIPS 180-4).
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .take(8)
        .fold(String::new(), |mut digits, byte| {
            // Writing to a string does not fail.
            let _ = write!(digits, "{byte:02x}");
            digits
        })
}
