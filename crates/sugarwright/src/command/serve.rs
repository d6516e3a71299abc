//! `sugarwright`: the pages, on this machine alone.

use std::{
    io,
    net::{Ipv4Addr, SocketAddr},
    path::PathBuf,
};

use etcetera::{AppStrategy, AppStrategyArgs, choose_app_strategy};
use jiff::SignedDuration;
use store::{DatabaseError, KitchenId, Store};
use tokio::net::TcpListener;

use crate::{
    Failure,
    desk::{Clock, Desk, Planner, Shown, fill_first},
    pages::router,
    print, tell,
    web::Authorities,
};

/// What the command line asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The data folder; nothing means the platform's place for it.
    pub data: Option<PathBuf>,
    /// The port; 0 takes any that is free.
    pub port: u16,
    /// Whether to open a browser.
    pub browser: bool,
}

/// Serves the pages until the program is told to stop.
///
/// # Errors
/// The data folder cannot be opened or is in use, or the port is taken.
pub fn run(request: &Request) -> Result<(), Failure> {
    tracing_subscriber::fmt().with_writer(io::stderr).with_max_level(tracing::Level::WARN).init();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    runtime.map_err(Failure::Start)?.block_on(serve(request))
}

async fn serve(request: &Request) -> Result<(), Failure> {
    let folder = match &request.data {
        Some(folder) => folder.clone(),
        None => usual_folder()?,
    };
    let store = Store::open_folder(&folder).await?;
    let listener = listen(request.port).await?;
    let address = listener.local_addr().map_err(Failure::Start)?;
    let desk = desk(&store, Clock::System).await?;
    let planning = desk.planner.clone().run(desk.store.clone(), store.watch(), desk.clock);
    let planning = tokio::spawn(planning);
    let url = format!("http://localhost:{}/", address.port());
    print(&format!(
        "sugarwright is at {url}\nIt keeps its data in {} and sends nothing anywhere. Stop it with Ctrl-C.",
        folder.display()
    ));
    if request.browser && open::that_detached(&url).is_err() {
        tell("No browser could be opened; open the address above in one.");
    }
    let served = axum::serve(listener, router(desk, Authorities::of_loopback(address)))
        .with_graceful_shutdown(told_to_stop());
    // Open news streams would keep a graceful end waiting, so that it is not waited for.
    let ended = tokio::select! {
        ended = async { served.await } => ended,
        () = told_to_stop() => Ok(()),
    };
    planning.abort();
    store.close().await;
    ended.map_err(Failure::Start)
}

/// Fills a new database and returns a desk for it.
pub(crate) async fn desk(store: &Store, clock: Clock) -> Result<Desk, Failure> {
    let kitchen = store.kitchen(&KitchenId::home());
    fill_first(&kitchen, clock).await.map_err(|error| match error {
        crate::desk::DeskError::Database(error) => Failure::Database(error),
        other => Failure::First(other.to_string()),
    })?;
    // Drawings of forms that were never sent whole.
    let yesterday = clock.now().checked_sub(SignedDuration::from_hours(24)).unwrap_or(clock.now());
    kitchen.sweep_designs(yesterday).await?;
    Ok(Desk { store: kitchen, planner: Planner::new(), shown: Shown::default().into(), clock })
}

/// The port that is tried first, so that the address can be kept; any other if it is taken.
const USUAL_PORT: u16 = 4180;

async fn listen(port: u16) -> Result<TcpListener, Failure> {
    let at = |port| SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    let asked = TcpListener::bind(at(port)).await;
    match asked {
        Err(_) if port == USUAL_PORT => TcpListener::bind(at(0)).await.map_err(Failure::Start),
        Err(source) => Err(Failure::Port { port, source }),
        Ok(listener) => Ok(listener),
    }
}

/// Where the platform keeps data of programs.
fn usual_folder() -> Result<PathBuf, Failure> {
    let names = AppStrategyArgs {
        top_level_domain: "invalid".to_owned(),
        author: "sugarwright".to_owned(),
        app_name: "sugarwright".to_owned(),
    };
    choose_app_strategy(names).map(|places| places.data_dir()).map_err(|_| Failure::NoHome)
}

async fn told_to_stop() {
    let interrupted = async {
        // Without a way to hear it, the program is stopped by its system.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let terminated = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => drop(signal.recv().await),
            Err(_) => std::future::pending().await,
        }
    };
    #[cfg(not(unix))]
    let terminated = std::future::pending::<()>();
    tokio::select! { () = interrupted => {}, () = terminated => {} }
}

impl From<DatabaseError> for Failure {
    fn from(error: DatabaseError) -> Self {
        Self::Database(error)
    }
}
