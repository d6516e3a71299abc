//! The pages of a running program, asked from outside as a browser asks.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};

use super::memory_of;
use crate::shell;

/// Orders the data folder holds; all but the samples are handed over, as in a kitchen some years old.
const N_ORDERS: usize = 1000;
/// How often a page is asked for.
const N_ASKED: usize = 200;
/// How often a start and a packet are timed.
const N_TIMED: usize = 7;
/// The longest a start, or the plans of the samples, may take before something is wrong.
const PATIENCE: Duration = Duration::from_secs(120);
/// How long nothing happens before the memory of an idle program is read.
const IDLE: Duration = Duration::from_secs(5);
/// Between two questions whether something is ready.
const AGAIN: Duration = Duration::from_millis(5);

/// Fills a data folder with orders and measures what a maker would wait for.
pub(super) fn pages(target: &Path) -> Result<String> {
    let program = target.join("release").join("sugarwright");
    let data = target.join("bench-data");
    if data.exists() {
        fs::remove_dir_all(&data)?;
    }

    let first = Running::start(&program, &data)?;
    let first_start = first.until_first_page;
    let samples = first.planned_orders()?;
    first.fill(target)?;
    drop(first);

    let mut starts = Vec::new();
    for _ in 0..N_TIMED {
        starts.push(Running::start(&program, &data)?.until_first_page);
    }
    let running = Running::start(&program, &data)?;
    ensure!(running.planned_orders()?.len() == samples.len(), "the samples are not planned");
    thread::sleep(IDLE);
    let idle_kb = memory_of(running.process.id(), "VmRSS:").context("no memory is told")?;

    let sample = samples.first().context("there is no sample")?;
    let mut table = format!(
        "Asked {N_ASKED} times each over one connection, by curl; {N_TIMED} runs of what takes longer.\n\n\
         | what | measured |\n|---|---|\n\
         | first start, sample orders written, to the first page | {} |\n\
         | later start to the first page, median | {} |\n",
        milliseconds(first_start),
        milliseconds(median(&mut starts)),
    );
    for (what, path) in [
        ("orders", "/"),
        ("orders behind", "/orders/behind"),
        ("an order", sample.as_str()),
        ("new order", "/orders/new"),
        ("kitchen", "/kitchen"),
    ] {
        let mut times = running.times(path, N_ASKED)?;
        times.sort();
        let p95 = times[(times.len() * 95).div_ceil(100) - 1];
        table += &format!("| {what}, 95 of 100 within | {} |\n", milliseconds(p95));
    }
    for sample in &samples {
        let mut times = running.times(&format!("{sample}/packet.pdf"), N_TIMED)?;
        let name = running.title(sample)?;
        table += &format!("| packet of {name}, median | {} |\n", milliseconds(median(&mut times)));
    }
    table += &format!(
        "| memory when idle, before any page was asked for | {} MB |\n",
        idle_kb.div_ceil(1024)
    );
    let weight = running.weight()?;
    for (what, bytes) in [
        ("scripts of every page, gzip", weight.scripts),
        (
            "first page with its styles and scripts, gzip",
            weight.page + weight.styles + weight.scripts,
        ),
        ("fonts of the first page", weight.fonts),
    ] {
        table += &format!("| {what} | {:.1} kB |\n", bytes as f64 / 1000.0);
    }
    Ok(table)
}

/// Bytes as they travel.
struct Weight {
    page: u64,
    styles: u64,
    scripts: u64,
    fonts: u64,
}

/// A program that serves its pages; dropping it stops it.
struct Running {
    process: Child,
    url: String,
    until_first_page: Duration,
}

impl Drop for Running {
    fn drop(&mut self) {
        // It keeps what it acknowledged whatever happens.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl Running {
    fn start(program: &Path, data: &Path) -> Result<Self> {
        let start = Instant::now();
        let mut process = Command::new(program)
            .arg("--data")
            .arg(data)
            .args(["--port", "0", "--no-browser"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let mut first_line = String::new();
        let output = process.stdout.take().context("its output is not piped")?;
        BufReader::new(output).read_line(&mut first_line)?;
        let Some(at) = first_line.find("http://") else {
            bail!("the program says no address but: {first_line}")
        };
        let url = first_line[at..].trim().trim_end_matches('/').to_owned();
        let mut running = Self { process, url, until_first_page: Duration::ZERO };
        while running.curl(&["--fail", "--output", "/dev/null"], &["/"]).is_err() {
            ensure!(start.elapsed() < PATIENCE, "the first page does not come");
            thread::sleep(AGAIN);
        }
        running.until_first_page = start.elapsed();
        Ok(running)
    }

    /// What curl prints for these paths.
    fn curl(&self, options: &[&str], paths: &[&str]) -> Result<String> {
        let mut curl = shell::command("curl");
        curl.args(["--silent", "--header", &format!("Origin: {}", self.url)]).args(options);
        curl.args(paths.iter().map(|path| format!("{}{path}", self.url)));
        shell::read(&mut curl)
    }

    /// How long each of `n` answers took.
    fn times(&self, path: &str, n: usize) -> Result<Vec<Duration>> {
        let paths = vec![path; n];
        let mut options = vec!["--fail", "--compressed", "--write-out", "%{time_total}\n"];
        options.extend(["--output", "/dev/null"].repeat(n));
        let lines = self.curl(&options, &paths)?;
        let times: Option<Vec<_>> =
            lines.lines().map(|line| line.parse().ok().map(Duration::from_secs_f64)).collect();
        let times = times.context("curl tells no times")?;
        ensure!(times.len() == n, "{path} answered {} times of {n}", times.len());
        Ok(times)
    }

    /// The paths of the open orders, once every one of them has a plan.
    fn planned_orders(&self) -> Result<Vec<String>> {
        let start = Instant::now();
        loop {
            let page = self.curl(&["--fail"], &["/"])?;
            let mut orders: Vec<String> = links(&page, "/orders/")
                .filter(|path| path.rsplit('/').next().is_some_and(|id| id.len() == 36))
                .collect();
            orders.sort();
            orders.dedup();
            let mut n_planned = 0;
            for order in &orders {
                let packet = format!("{order}/plan.json");
                n_planned += usize::from(self.curl(&["--fail"], &[&packet]).is_ok());
            }
            if !orders.is_empty() && n_planned == orders.len() {
                return Ok(orders);
            }
            ensure!(start.elapsed() < PATIENCE, "the plans of the samples do not come");
            thread::sleep(AGAIN);
        }
    }

    /// The title of an order.
    fn title(&self, order: &str) -> Result<String> {
        let page = self.curl(&["--fail"], &[order])?;
        let title = page.split("<title>").nth(1).and_then(|rest| rest.split(" · ").next());
        Ok(title.context("the page has no title")?.to_owned())
    }

    /// Takes a sample in as further orders, and hands them over.
    fn fill(&self, target: &Path) -> Result<()> {
        let orders = self.planned_orders()?;
        let sample = orders.first().context("there is no sample")?;
        let zip = target.join("bench-order.zip");
        self.curl(
            &["--fail", "--output", &zip.display().to_string()],
            &[&format!("{sample}/order.zip")],
        )?;
        let form = format!("folder=@{}", zip.display());
        for _ in orders.len()..N_ORDERS {
            let options = ["--fail", "--form", &form, "--write-out", "%{redirect_url}"];
            let answer = self.curl(&options, &["/orders/new/folder"])?;
            let Some(order) = answer.trim().strip_prefix(&self.url) else {
                bail!("the order was not taken in: {answer}")
            };
            let page = self.curl(&["--fail"], &[order])?;
            let seen = page.split("name=\"revision\" value=\"").nth(1);
            let seen = seen.and_then(|rest| rest.split('"').next()).context("no revision")?;
            let seen = format!("revision={seen}");
            let options = ["--fail", "--data", &seen];
            self.curl(&options, &[&format!("{order}/hand-over")])?;
        }
        Ok(())
    }

    /// What the first page and all it names weigh.
    fn weight(&self) -> Result<Weight> {
        let page = self.curl(&["--fail"], &["/"])?;
        let sizes = |paths: &[String]| -> Result<u64> {
            let mut sum = 0;
            for path in paths {
                let options = [
                    "--header",
                    "Accept-Encoding: gzip",
                    "--write-out",
                    "%{size_download}",
                    "--output",
                    "/dev/null",
                ];
                sum += self.curl(&options, &[path])?.trim().parse::<u64>()?;
            }
            Ok(sum)
        };
        let styles: Vec<String> = links(&page, "/").filter(|path| path.ends_with(".css")).collect();
        // The scripts of all pages, for a maker sees them all.
        let mut scripts = Vec::new();
        for path in ["/", "/orders/new", "/kitchen"]
            .into_iter()
            .chain(self.planned_orders()?.iter().map(String::as_str))
        {
            scripts.extend(
                links(&self.curl(&["--fail"], &[path])?, "/").filter(|path| path.ends_with(".js")),
            );
        }
        scripts.sort();
        scripts.dedup();
        let mut fonts = Vec::new();
        for style in &styles {
            let text = self.curl(&["--fail"], &[style])?;
            fonts.extend(text.split("url(").skip(1).filter_map(|rest| rest.split(')').next()).map(
                |url| {
                    let url = url.trim_matches(['"', '\'']);
                    match url.strip_prefix("../") {
                        Some(rest) => {
                            format!("{}/{rest}", style.rsplitn(3, '/').nth(2).unwrap_or_default())
                        }
                        None => url.to_owned(),
                    }
                },
            ));
        }
        Ok(Weight {
            page: sizes(&["/".to_owned()])?,
            styles: sizes(&styles)?,
            scripts: sizes(&scripts)?,
            fonts: sizes(&fonts)?,
        })
    }
}

/// The addresses a page names that begin so.
fn links<'a>(page: &'a str, beginning: &'a str) -> impl Iterator<Item = String> + 'a {
    page.split(['"'])
        .filter(move |word| word.starts_with(beginning) && !word.contains(' '))
        .map(str::to_owned)
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort();
    times[times.len() / 2]
}

fn milliseconds(time: Duration) -> String {
    format!("{:.0} ms", time.as_secs_f64() * 1000.0)
}
