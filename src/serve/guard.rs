//! Who is heard: the key, the sessions, the names of the host, and forms that are this page's own.

use std::collections::VecDeque;
use std::fmt::Write as _;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Mutex, PoisonError};

use sha2::{Digest, Sha256};

/// How many sessions are kept; the oldest ends first.
const SESSIONS: usize = 64;
/// The letters of a key: none looks like another (the alphabet of Crockford's base 32).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// The letters of a key in number: 16 of 5 bits each.
const KEY_LETTERS: usize = 16;

/// The key of the page: whoever has it may use the page.
#[derive(Clone)]
pub struct Key(String);

impl Key {
    /// A new key from the system's source of chance.
    pub fn new() -> io::Result<Self> {
        let letters =
            chance::<KEY_LETTERS>()?.map(|byte| char::from(LETTERS[usize::from(byte % 32)]));
        Ok(Self(letters.iter().collect()))
    }

    /// The key in groups of four, as it is read aloud.
    pub fn shown(&self) -> String {
        let letters: Vec<char> = self.0.chars().collect();
        let groups = letters
            .chunks(4)
            .map(|group| group.iter().collect::<String>());
        groups.collect::<Vec<_>>().join("-")
    }

    /// Whether this is it, however it was typed.
    fn is(&self, typed: &str) -> bool {
        let typed = typed.chars().filter(char::is_ascii_alphanumeric);
        let typed: String = typed.map(|c| c.to_ascii_uppercase()).collect();
        same(self.0.as_bytes(), typed.as_bytes())
    }
}

/// Who is heard.
pub struct Guard {
    /// The names that the page goes by, in small letters.
    hosts: Vec<String>,
    port: u16,
    key: Option<Key>,
    /// What the tokens of the forms are made with.
    secret: [u8; 32],
    sessions: Mutex<VecDeque<String>>,
}

/// Why a request is not heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Refused {
    /// It names no host of ours.
    Host,
    /// It comes from another site.
    Origin,
    /// It is no form of ours.
    Token,
    /// Its session is not known.
    Session,
}

impl Guard {
    /// A guard of the page at an address that goes by these names, behind a key or open. Loopback addresses go by their
    /// own names.
    pub fn new(address: SocketAddr, hosts: &[String], key: Option<Key>) -> io::Result<Self> {
        let mut hosts: Vec<String> = hosts.iter().map(|host| host.to_ascii_lowercase()).collect();
        if !address.ip().is_unspecified() {
            hosts.push(literal(address.ip()));
        }
        if address.ip().is_loopback() {
            hosts.push("localhost".to_owned());
        }
        Ok(Self {
            hosts,
            port: address.port(),
            key,
            secret: chance()?,
            sessions: Mutex::default(),
        })
    }

    /// The name of the cookie: pages on other ports of a host have others.
    pub(super) fn cookie(&self) -> String {
        format!("halfsplit-{}", self.port)
    }

    /// Whether a request names a host of ours: against pages elsewhere that give our address a name of theirs.
    pub(super) fn host(&self, named: Option<&str>) -> Result<(), Refused> {
        let named = named.ok_or(Refused::Host)?.to_ascii_lowercase();
        let (name, port) = match named.rsplit_once(':') {
            Some((name, port)) if !port.contains(']') => (name, port.parse().ok()),
            _ => (named.as_str(), Some(80)),
        };
        let known = self.hosts.iter().any(|host| host == name);
        (known && port == Some(self.port))
            .then_some(())
            .ok_or(Refused::Host)
    }

    /// Whether what is sent comes from a page of ours: every browser says so.
    pub(super) fn origin(origin: Option<&str>, host: Option<&str>) -> Result<(), Refused> {
        let own = host.map(|host| format!("http://{}", host.to_ascii_lowercase()));
        let origin = origin.map(str::to_ascii_lowercase);
        (origin.is_some() && origin == own)
            .then_some(())
            .ok_or(Refused::Origin)
    }

    /// Whether a session may use the page.
    pub(super) fn session(&self, session: Option<&str>) -> Result<(), Refused> {
        if self.key.is_none() {
            return Ok(());
        }
        let session = session.ok_or(Refused::Session)?;
        let sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        let known = sessions
            .iter()
            .any(|own| same(own.as_bytes(), session.as_bytes()));
        known.then_some(()).ok_or(Refused::Session)
    }

    /// A new session for the key; none for anything else.
    pub(super) fn begin(&self, key: &str) -> io::Result<Option<String>> {
        if !self.key.as_ref().is_some_and(|own| own.is(key)) {
            return Ok(None);
        }
        let session = hex(&chance::<16>()?);
        let mut sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        sessions.push_back(session.clone());
        if sessions.len() > SESSIONS {
            sessions.pop_front();
        }
        Ok(Some(session))
    }

    /// The token that the forms of a session carry.
    pub(super) fn token(&self, session: Option<&str>) -> String {
        let mut hash = Sha256::new();
        hash.update(self.secret);
        // Without a key there is one session, nameless.
        let session = session.filter(|_| self.key.is_some());
        hash.update(session.unwrap_or_default());
        hex(&hash.finalize()[..16])
    }

    /// Whether a form carries the token of its session.
    pub(super) fn form(&self, session: Option<&str>, token: &str) -> Result<(), Refused> {
        let own = self.token(session);
        same(own.as_bytes(), token.as_bytes())
            .then_some(())
            .ok_or(Refused::Token)
    }
}

/// An address as it stands in a URL.
fn literal(address: IpAddr) -> String {
    match address {
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => format!("[{address}]"),
    }
}

/// Bytes from the system's source of chance.
fn chance<const N: usize>() -> io::Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(bytes)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut hex, byte| {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// Whether two texts are the same, in a time that does not tell how far they are.
fn same(one: &[u8], other: &[u8]) -> bool {
    let differ = one
        .iter()
        .zip(other)
        .fold(0, |differ, (a, b)| differ | (a ^ b));
    one.len() == other.len() && differ == 0
}
