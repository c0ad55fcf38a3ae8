//! `flatspire serve`: a page on this computer.

mod connection;
mod routes;
mod searches;

use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use super::arguments::{General, ServeOptions};
use super::failure::Failure;
use super::{Verdict, assembled, files, terminal};
use crate::live::{Asked, AssemblyGiven, CurveGiven, Opening};
use crate::spec::{AssemblyFile, Brief};
use connection::Answer;
use routes::Shared;

/// Connections that are served at once; a browser opens six.
const MOST_CONNECTIONS: usize = 64;
/// Rest after a connection that could not be accepted: the system is out of something.
const REST: Duration = Duration::from_millis(100);

/// Serves the page until it is stopped.
pub fn run(options: &ServeOptions, general: &General) -> Result<Verdict, Failure> {
    let assembly = options.curve.as_deref().and_then(assembled::path_of);
    let given = match &options.curve {
        Some(path) if assembly.is_none() => {
            let target = files::read_curve(path, &options.reading.choice())?;
            let brief = match &options.brief {
                Some(path) => files::read_brief(path)?,
                None => Brief::default(),
            };
            Some(Asked { curve: CurveGiven::of(&target), brief })
        }
        _ => None,
    };
    let mut opening = Opening::of(given, general.units.into())?;
    if assembly.is_some() && options.brief.is_some() {
        terminal::note("--brief belongs to a curve; the assembly is shown as it is");
    }
    opening.assembly = assembly.as_deref().map(read_assembly).transpose()?;
    let taken = |source| Failure::Port { port: options.port, source };
    // this computer alone can reach it
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, options.port)).map_err(taken)?;
    let port = listener.local_addr().map_err(taken)?.port();
    let address = format!("http://127.0.0.1:{port}/");
    if general.json {
        terminal::print(&format!("{}\n", serde_json::json!({ "address": address })))?;
    } else {
        terminal::print(&format!(
            "The page is at {address}\nOpen it in a browser on this computer; Ctrl-C ends it.\n"
        ))?;
    }
    let shared = Arc::new(Shared::new(serde_json::to_vec(&opening).unwrap_or_default()));
    serve(&listener, port, &shared);
    Ok(Verdict::Passed)
}

/// An assembly file and the spring files of its members.
fn read_assembly(path: &Path) -> Result<AssemblyGiven, Failure> {
    let (name, text) = (files::name(path), files::read_text(path)?);
    let above = path.parent().unwrap_or_else(|| Path::new(""));
    let springs = AssemblyFile::parse(&text, &name)?
        .member
        .into_iter()
        .map(|member| {
            let inside = above.join(&member.folder).join("spring.toml");
            Ok((member.folder, files::read_text(&inside)?))
        })
        .collect::<Result<_, Failure>>()?;
    Ok(AssemblyGiven::new(name, text, springs))
}

/// Accepts connections for ever, a thread each.
fn serve(listener: &TcpListener, port: u16, shared: &Arc<Shared>) {
    let open = Arc::new(AtomicUsize::new(0));
    for accepted in listener.incoming() {
        let Ok(stream) = accepted else {
            std::thread::sleep(REST);
            continue;
        };
        let place = OpenPlace::take(&open);
        if place.before >= MOST_CONNECTIONS {
            // closed unanswered: whoever opens so many at once is no page of ours
            continue;
        }
        let shared = Arc::clone(shared);
        // without a thread the connection closes, and the browser says so
        let _ = std::thread::Builder::new().name("connection".to_owned()).spawn(move || {
            let _place = place;
            converse(stream, port, &shared);
        });
    }
}

/// A place among the open connections, given back whatever happens.
struct OpenPlace {
    open: Arc<AtomicUsize>,
    before: usize,
}

impl OpenPlace {
    fn take(open: &Arc<AtomicUsize>) -> Self {
        Self { open: Arc::clone(open), before: open.fetch_add(1, Ordering::SeqCst) }
    }
}

impl Drop for OpenPlace {
    fn drop(&mut self) {
        self.open.fetch_sub(1, Ordering::SeqCst);
    }
}

fn converse(mut stream: TcpStream, port: u16, shared: &Shared) {
    let _ = stream.set_nodelay(true);
    match connection::read(&mut stream, port) {
        Ok(request) => {
            let answer = shared.answer(&request);
            connection::write(&mut stream, &answer, request.head.method != "HEAD");
        }
        Err(Some(refusal)) => {
            connection::write(&mut stream, &Answer::message(refusal.status, &refusal.message), true);
        }
        Err(None) => {}
    }
}
