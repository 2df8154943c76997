//! `leastbit desk`: the board in a page of its own.
//!
//! One process serves pages to one reader on this machine. Everything shown
//! is a `report` type drawn by `draw`; the page sends back the text of the
//! board file, and nothing is written until it is saved.

mod board;
mod channel;
mod guard;
mod page;
mod routes;
mod session;
mod start;
mod text;

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;

use crate::arguments::Desk;
use crate::{Ended, files};

use session::Session;

/// Opens a board at the desk and serves it until interrupted.
pub(crate) fn run(a: &Desk) -> Ended {
    let Ok(input) = files::library(&a.parts.folders) else {
        return Ended::Unusable;
    };
    let session = match Session::open(a.board.as_deref(), input) {
        Ok(session) => Arc::new(session),
        Err(message) => {
            anstream::eprintln!("{message}");
            return Ended::Unusable;
        }
    };
    let runtime = match tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
    {
        Ok(runtime) => runtime,
        Err(fault) => {
            anstream::eprintln!("the desk cannot be served: {fault}");
            return Ended::Unusable;
        }
    };
    match runtime.block_on(serve(a, session)) {
        Ok(()) => Ended::Met,
        Err(message) => {
            anstream::eprintln!("{message}");
            Ended::Unusable
        }
    }
}

async fn serve(a: &Desk, session: Arc<Session>) -> Result<(), String> {
    // Nobody but this machine is listened to.
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, a.port));
    let listener = tokio::net::TcpListener::bind(address)
        .await
        .map_err(|e| format!("port {} cannot be had: {e}", a.port))?;
    let port = listener
        .local_addr()
        .map_err(|e| format!("the desk has no address: {e}"))?
        .port();
    let guard = guard::Guard::new(port).map_err(|e| format!("no secret can be drawn: {e}"))?;
    let door = guard.door();
    if a.json {
        let opened = serde_json::json!({ "version": report::VERSION, "address": door });
        anstream::println!("{opened}");
    } else {
        anstream::println!("{door}");
        anstream::println!("The desk is open. Ctrl-C closes it.");
    }
    if !a.no_browser {
        open_browser(&door);
    }
    session.watch_file();
    session.recompute();
    let app = routes::routes(session, guard);
    axum::serve(listener, app)
        .with_graceful_shutdown(async {
            let _ = tokio::signal::ctrl_c().await;
        })
        .await
        .map_err(|e| format!("the desk stopped: {e}"))
}

/// Asks the system to show the address; that it cannot is no fault, since the
/// address has been printed.
fn open_browser(address: &str) {
    let opener = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(target_os = "windows") {
        "explorer"
    } else {
        "xdg-open"
    };
    let _ = std::process::Command::new(opener)
        .arg(address)
        .stdin(std::process::Stdio::null())
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn();
}
