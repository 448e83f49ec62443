//! Connections and requests, all of them bounded in number, size and time.

use std::collections::{BTreeMap, VecDeque};
use std::convert::Infallible;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::pin::pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use http_body_util::{BodyExt as _, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderMap, HeaderName, HeaderValue};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::sync::Notify;
use tokio::time::{sleep, timeout};

use super::form::Form;
use super::guard::{Guard, Refused};
use super::reply::{Asked, Reply};
use super::route::{heard, refused, takes_file};
use super::screen::says;
use super::site::Site;
use super::upload::{MEGABYTES, parts};

/// The most connections at a time. One more closes the one that has been idle longest.
const CONNECTIONS: usize = 128;
/// How long the head of a request may take, and how long a connection may wait for the next request.
const HEAD: Duration = Duration::from_secs(10);
/// How long the body of a request may take.
const BODY: Duration = Duration::from_secs(10);
/// How long a connection is kept, and how long its last response may take then.
const LONGEST: Duration = Duration::from_mins(2);
const LAST: Duration = Duration::from_secs(20);
/// How late the reply to a wrong key comes.
const LATE: Duration = Duration::from_secs(1);
/// The largest head and the largest body of a request, in bytes.
const LARGEST_HEAD: usize = 16 * 1024;
const LARGEST_BODY: usize = 64 * 1024;
/// The largest form with a recording in it, in bytes, and how long it may take.
const LARGEST_RECORDING: usize = MEGABYTES * 1_000_000 + LARGEST_BODY;
const RECORDING: Duration = Duration::from_mins(1);
/// The most headers of a request.
const HEADERS: usize = 64;
/// The most requests that are worked on at a time.
const AT_WORK: usize = 8;

/// What a browser may do with a page: nothing but what it brings from here.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// A page that listens.
pub struct Server {
    listener: TcpListener,
    site: Arc<Site>,
    stop: Stop,
}

/// Ends a server from elsewhere.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<Notify>);

impl Stop {
    /// Ends it.
    pub fn stop(&self) {
        self.0.notify_one();
    }
}

impl Server {
    /// A page on a socket that listens already.
    pub fn new(listener: TcpListener, site: Site) -> io::Result<Self> {
        listener.set_nonblocking(true)?;
        Ok(Self {
            listener,
            site: Arc::new(site),
            stop: Stop::default(),
        })
    }

    /// Where it listens.
    pub fn address(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }

    /// What ends it.
    pub fn stop(&self) -> Stop {
        self.stop.clone()
    }

    /// Serves until it is stopped.
    pub fn run(self) -> io::Result<()> {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .max_blocking_threads(AT_WORK)
            .build()?;
        let Self {
            listener,
            site,
            stop,
        } = self;
        runtime.block_on(async move {
            let listener = tokio::net::TcpListener::from_std(listener)?;
            let all = Arc::new(Connections::default());
            loop {
                tokio::select! {
                    () = stop.0.notified() => return Ok(()),
                    accepted = listener.accept() => match accepted {
                        Ok((stream, _)) => {
                            let place = all.enter();
                            tokio::spawn(connection(stream, Arc::clone(&site), Arc::clone(&all), place));
                        }
                        // Out of files, or gone before it was heard: others may fare better.
                        Err(_) => sleep(Duration::from_millis(50)).await,
                    },
                }
            }
        })
    }
}

/// The connections that are open, the oldest first.
#[derive(Default)]
struct Connections(Mutex<VecDeque<Arc<Place>>>);

/// The place of a connection.
#[derive(Default)]
struct Place {
    /// Whether a request of it is worked on.
    at_work: AtomicBool,
    /// Tells it to make room.
    leave: Notify,
}

impl Connections {
    /// A place for a connection. Where all are taken, the idle one that is oldest leaves.
    fn enter(&self) -> Arc<Place> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= CONNECTIONS {
            let idle = all
                .iter()
                .position(|place| !place.at_work.load(Ordering::Relaxed));
            if let Some(place) = all.remove(idle.unwrap_or(0)) {
                place.leave.notify_one();
            }
        }
        let place = Arc::new(Place::default());
        all.push_back(Arc::clone(&place));
        place
    }

    fn leave(&self, place: &Arc<Place>) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|other| !Arc::ptr_eq(other, place));
    }
}

/// One connection, to its end.
async fn connection(
    stream: tokio::net::TcpStream,
    site: Arc<Site>,
    all: Arc<Connections>,
    place: Arc<Place>,
) {
    let at_work = Arc::clone(&place);
    let service = service_fn(move |request| {
        let (site, place) = (Arc::clone(&site), Arc::clone(&at_work));
        async move {
            place.at_work.store(true, Ordering::Relaxed);
            let reply = answer(site, request).await;
            place.at_work.store(false, Ordering::Relaxed);
            Ok::<_, Infallible>(reply)
        }
    });
    let served = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD)
        .max_buf_size(LARGEST_HEAD)
        .max_headers(HEADERS)
        .serve_connection(TokioIo::new(stream), service);
    let mut served = pin!(served);
    tokio::select! {
        // A client that breaks the rules of the protocol, or leaves, has nobody to be told.
        _ = served.as_mut() => {}
        () = place.leave.notified() => {}
        () = sleep(LONGEST) => {
            served.as_mut().graceful_shutdown();
            let _ = timeout(LAST, served).await;
        }
    }
    all.leave(&place);
}

/// The response to a request.
async fn answer(site: Arc<Site>, request: Request<Incoming>) -> Response<Full<Bytes>> {
    let reply = match read(&site, request).await {
        Ok(asked) => {
            let work = tokio::task::spawn_blocking({
                let site = Arc::clone(&site);
                move || heard(&site, &asked)
            });
            work.await.unwrap_or_else(|_| {
                plain(
                    500,
                    "This page failed. Nothing is lost: what was recorded is on disk.",
                )
            })
        }
        Err(reply) => reply,
    };
    if reply.late {
        sleep(LATE).await;
    }
    response(&site, reply)
}

/// A reply in bare words.
fn plain(status: u16, words: &str) -> Reply {
    Reply::text(status, "text/plain; charset=utf-8", format!("{words}\n"))
}

/// Reads a request, or says why it is not heard.
async fn read(site: &Site, request: Request<Incoming>) -> Result<Asked, Reply> {
    let posts = match *request.method() {
        Method::GET | Method::HEAD => false,
        Method::POST => true,
        _ => return Err(plain(405, "This page is read, or sent a form.")),
    };
    let headers = request.headers();
    let host = only(headers, &header::HOST);
    let guard = site.guard();
    guard.host(host).map_err(refused)?;
    // A request by way of a proxy names the host twice.
    if request.uri().authority().is_some() {
        return Err(refused(Refused::Host));
    }
    if posts {
        Guard::origin(only(headers, &header::ORIGIN), host).map_err(refused)?;
    }
    let cookie = guard.cookie();
    let session = headers.get_all(header::COOKIE).iter().find_map(|all| {
        let mut each = all
            .to_str()
            .ok()?
            .split(';')
            .filter_map(|one| one.trim().split_once('='));
        each.find(|(name, _)| *name == cookie)
            .map(|(_, value)| value.to_owned())
    });
    let path = path(request.uri().path()).ok_or_else(|| plain(404, "There is no such page."))?;
    let query = request.uri().query().unwrap_or_default();
    let query = form_urlencoded::parse(query.as_bytes());
    let query: BTreeMap<String, String> = query.into_owned().collect();
    let (mut form, mut file) = (Form::default(), None);
    if posts {
        let kind = only(headers, &header::CONTENT_TYPE).unwrap_or_default();
        if kind.starts_with("multipart/form-data") && takes_file(&path) {
            // Not from just anybody: it is long.
            guard.session(session.as_deref()).map_err(refused)?;
            let kind = kind.to_owned();
            let body = recording(site, request.into_body()).await?;
            let parts = parts(&kind, &body);
            (form, file) = parts.ok_or_else(|| plain(400, "That is no form with a file."))?;
        } else if kind.starts_with("application/x-www-form-urlencoded") {
            let body = Limited::new(request.into_body(), LARGEST_BODY).collect();
            let body = timeout(BODY, body).await;
            let body = body.map_err(|_| late())?;
            let body = body.map_err(|_| plain(413, "That is too much for one answer."))?;
            form = Form::read(&body.to_bytes());
        } else {
            return Err(plain(415, "This page takes forms."));
        }
    }
    Ok(Asked {
        posts,
        path,
        query,
        form,
        file,
        session,
    })
}

fn late() -> Reply {
    plain(408, "That took too long.")
}

/// The body of a request that brings a recording, one request at a time. What is too large is read to its end and
/// forgotten: a browser that cannot send it all shows no reply.
async fn recording(site: &Site, mut body: Incoming) -> Result<Bytes, Reply> {
    let received = async {
        let _alone = site.receiving.acquire().await;
        let mut bytes = Vec::new();
        let mut fits = true;
        while let Some(frame) = body.frame().await {
            let frame = frame.map_err(|_| plain(400, "It broke off."))?;
            let data = frame.data_ref().map_or(&[][..], |data| data.as_ref());
            fits &= bytes.len() + data.len() <= LARGEST_RECORDING;
            if fits {
                bytes.extend_from_slice(data);
            } else {
                bytes = Vec::new();
            }
        }
        let large = format!("A recording may have {MEGABYTES} MB. Cut it, or leave out columns.");
        fits.then(|| Bytes::from(bytes))
            .ok_or_else(|| says(413, "Too large", &large, ("Jobs", "/")))
    };
    timeout(RECORDING, received).await.map_err(|_| late())?
}

/// The value of a header that stands once.
fn only<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    let mut all = headers.get_all(name).iter();
    let (first, None) = (all.next()?, all.next()) else {
        return None;
    };
    first.to_str().ok()
}

/// The parts of a path; none where it holds anything but plain names.
fn path(path: &str) -> Option<Vec<String>> {
    let path = path.strip_prefix('/')?;
    if path.is_empty() {
        return Some(Vec::new());
    }
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '.';
    let parts = path.split('/').map(|part| {
        let name = !part.is_empty() && part.len() <= 100 && part.chars().all(plain);
        (name && !part.starts_with('.')).then(|| part.to_owned())
    });
    parts.collect()
}

/// A reply as a response, with what every response says.
fn response(site: &Site, reply: Reply) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::new(Bytes::from(reply.body)));
    *response.status_mut() = StatusCode::from_u16(reply.status).unwrap_or(StatusCode::OK);
    let headers = response.headers_mut();
    let mut set = |name: HeaderName, value: &str| {
        if let Ok(value) = HeaderValue::from_str(value) {
            headers.insert(name, value);
        }
    };
    set(header::CONTENT_TYPE, reply.kind);
    set(header::CONTENT_SECURITY_POLICY, POLICY);
    set(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    set(header::X_FRAME_OPTIONS, "DENY");
    // Not `no-referrer`: with that a browser hides the origin of its own forms.
    set(header::REFERRER_POLICY, "same-origin");
    let cache = if reply.lasts {
        "private, max-age=31536000, immutable"
    } else {
        "no-store"
    };
    set(header::CACHE_CONTROL, cache);
    set(
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    );
    set(
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    );
    if let Some(location) = &reply.location {
        set(header::LOCATION, location);
    }
    if let Some(file) = reply.file {
        set(
            header::CONTENT_DISPOSITION,
            &format!("attachment; filename=\"{file}\""),
        );
    }
    if let Some(session) = &reply.begins {
        let cookie = site.guard().cookie();
        set(
            header::SET_COOKIE,
            &format!("{cookie}={session}; HttpOnly; SameSite=Strict; Path=/; Max-Age=86400"),
        );
    }
    response
}
