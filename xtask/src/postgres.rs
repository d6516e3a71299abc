//! A private PostgreSQL server for tests: in a temporary folder, on a socket of its own, gone afterwards.
//!
//! The tests of the store share this file, so that they also run without `cargo xtask test`.

use std::env;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::{self, Command, Stdio};
use std::time::SystemTime;

/// Holds the address of a server on which databases may be created.
pub(crate) const VARIABLE: &str = "SUGARWRIGHT_POSTGRES";

/// A running server; dropping it stops it and removes its folder.
pub(crate) struct Server {
    binaries: PathBuf,
    folder: PathBuf,
}

/// The folder of PostgreSQL's own programs, which Debian keeps off the search path.
pub(crate) fn binaries() -> Option<PathBuf> {
    let on_path = env::var_os("PATH").unwrap_or_default();
    let mut folders: Vec<PathBuf> = fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten()
        .map(|version| version.path().join("bin"))
        .collect();
    folders.sort();
    folders.extend(env::split_paths(&on_path));
    folders.into_iter().rev().find(|folder| folder.join("initdb").is_file())
}

impl Server {
    /// Starts a server with the programs of this folder and waits until it answers.
    pub(crate) fn start(binaries: PathBuf) -> io::Result<Self> {
        let moment = SystemTime::UNIX_EPOCH.elapsed().unwrap_or_default().as_nanos();
        let name = format!("sugarwright-postgres-{}-{moment}", process::id());
        let folder = env::temp_dir().join(name);
        fs::create_dir(&folder)?;
        // From here on, dropping it cleans up.
        let server = Self { binaries, folder };
        if is_root() {
            succeed(Command::new("chown").arg("postgres").arg(&server.folder))?;
        }
        let mut initdb = server.program("initdb");
        initdb.args(["--auth=trust", "--username=postgres", "--encoding=UTF8", "--locale=C"]);
        succeed(initdb.args(["--no-sync", "--pgdata"]).arg(server.data()))?;
        server.configure()?;
        let mut start = server.program("pg_ctl");
        start.args(["start", "--silent", "--wait", "--log"]).arg(server.folder.join("log"));
        succeed(start.arg("--pgdata").arg(server.data()))?;
        Ok(server)
    }

    /// The address of the server.
    pub(crate) fn url(&self) -> String {
        format!("postgres://postgres@localhost/postgres?host={}", self.folder.display())
    }

    fn data(&self) -> PathBuf {
        self.folder.join("data")
    }

    /// Nothing is to last, and nobody else is to find it.
    fn configure(&self) -> io::Result<()> {
        let folder = self.folder.display().to_string().replace('\'', "''");
        let mut settings =
            OpenOptions::new().append(true).open(self.data().join("postgresql.conf"))?;
        write!(
            settings,
            "listen_addresses = ''\n\
             unix_socket_directories = '{folder}'\n\
             max_connections = 200\n\
             fsync = off\n\
             synchronous_commit = off\n"
        )
    }

    /// A program of PostgreSQL, which refuses to run as root.
    fn program(&self, name: &str) -> Command {
        let path = self.binaries.join(name);
        let mut command = if is_root() {
            let mut command = Command::new("runuser");
            command.args(["-u", "postgres", "--"]).arg(path);
            command
        } else {
            Command::new(path)
        };
        command.current_dir(&self.folder);
        command
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if self.data().join("postmaster.pid").exists() {
            let mut stop = self.program("pg_ctl");
            stop.args(["stop", "--silent", "--mode=immediate", "--pgdata"]).arg(self.data());
            // There is nobody left to tell.
            let _ = succeed(&mut stop);
        }
        let _ = fs::remove_dir_all(&self.folder);
    }
}

fn is_root() -> bool {
    let id = Command::new("id").arg("-u").output();
    id.is_ok_and(|id| id.stdout.trim_ascii() == b"0")
}

/// Runs a command unseen. Its output is closed, for a server would keep it open.
fn succeed(command: &mut Command) -> io::Result<()> {
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let status = command.status()?;
    let name = Path::new(command.get_program()).display().to_string();
    if status.success() {
        Ok(())
    } else {
        let line: Vec<_> = command.get_args().map(|word| word.to_string_lossy()).collect();
        Err(io::Error::other(format!("`{name} {}` ended with {status}", line.join(" "))))
    }
}
