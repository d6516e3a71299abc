//! Chromium, driven by Debian's chromedriver over WebDriver (W3C) and the DevTools protocol behind it.

use std::{
    env,
    fmt::Debug,
    io::{Read, Write},
    net::{Ipv4Addr, TcpStream},
    path::PathBuf,
    process::{Child, Command},
    time::Duration,
};

use axum::http::Method;
use fantoccini::{
    Client, ClientBuilder, Locator,
    elements::Element,
    error::CmdError,
    wd::{TimeoutConfiguration, WebDriverCompatibleCommand},
};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use tokio::time::timeout;
use url::{ParseError, Url};

use super::served::start_and_read;

/// Longest wait for a page or a plan, on a machine that has much else to do.
const LONGEST_WAIT: Duration = Duration::from_secs(120);

/// A screen to look at pages on, in CSS pixels.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Screen {
    pub(crate) name: &'static str,
    pub(crate) width: u32,
    pub(crate) height: u32,
}

pub(crate) const PHONE: Screen = Screen { name: "phone", width: 390, height: 844 };
pub(crate) const TABLET: Screen = Screen { name: "tablet", width: 820, height: 1180 };
pub(crate) const LAPTOP: Screen = Screen { name: "laptop", width: 1366, height: 768 };

/// Whether the browser runs scripts of pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scripts {
    Run,
    Blocked,
}

/// A browser with one window.
pub(crate) struct Browser {
    pub(crate) client: Client,
    pub(crate) screen: Screen,
    /// After the client, so that it is stopped last.
    _driver: Driver,
}

impl Browser {
    /// Starts a browser; without one on this machine it says so and returns nothing.
    pub(crate) async fn start(screen: Screen, scripts: Scripts) -> Option<Self> {
        let (Some(chromium), Some(chromedriver)) =
            (installed("chromium"), installed("chromedriver"))
        else {
            say_unchecked();
            return None;
        };
        let driver = Driver::start(&chromedriver);
        let mut arguments = vec![
            "--headless=new",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--force-color-profile=srgb",
            "--hide-scrollbars",
            "--lang=en-US",
        ];
        if is_root() {
            // Chromium's own sandbox refuses to be set up by root.
            arguments.push("--no-sandbox");
        }
        let preferences = match scripts {
            Scripts::Run => json!({}),
            // The value 2 blocks (Chromium, components/content_settings: CONTENT_SETTING_BLOCK).
            Scripts::Blocked => json!({ "profile.managed_default_content_settings.javascript": 2 }),
        };
        let options = json!({ "binary": chromium, "args": arguments, "prefs": preferences });
        let capabilities = [
            ("goog:chromeOptions".to_owned(), options),
            ("goog:loggingPrefs".to_owned(), json!({ "browser": "ALL" })),
        ];
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities.into_iter().collect())
            .connect(&format!("http://127.0.0.1:{}", driver.port))
            .await
            .expect("chromium starts");
        let times = TimeoutConfiguration::new(Some(LONGEST_WAIT), Some(LONGEST_WAIT), None);
        client.update_timeouts(times).await.expect("times are set");
        let browser = Self { client, screen, _driver: driver };
        browser.set_height(screen.height).await;
        // From now on the browser keeps what it is sent.
        browser.devtools("Network.enable", json!({})).await;
        Some(browser)
    }

    /// Opens a page.
    pub(crate) async fn open(&self, address: &str) {
        self.client.goto(address).await.expect("the page opens");
    }

    /// Waits for an element.
    pub(crate) async fn wait_for(&self, css: &str) -> Element {
        let looking = async {
            loop {
                let found = self.client.wait().forever().for_element(Locator::Css(css)).await;
                match found {
                    Ok(element) => return element,
                    // The page loaded itself again meanwhile, and took the question with it.
                    Err(CmdError::NotW3C(_)) => {}
                    Err(error) => panic!("{css} cannot be looked for: {error}"),
                }
            }
        };
        match timeout(LONGEST_WAIT, looking).await {
            Ok(element) => element,
            Err(_) => panic!("no {css} appears on: {}", self.words("main").await),
        }
    }

    /// Finds an element that must be there.
    pub(crate) async fn find(&self, css: &str) -> Element {
        let found = self.client.find(Locator::Css(css)).await;
        found.unwrap_or_else(|error| panic!("there is no {css}: {error}"))
    }

    /// How many elements match.
    pub(crate) async fn count(&self, css: &str) -> usize {
        self.client.find_all(Locator::Css(css)).await.expect("the page is there").len()
    }

    /// The words of an element.
    pub(crate) async fn words(&self, css: &str) -> String {
        self.find(css).await.text().await.expect("it has words")
    }

    /// What a field holds.
    pub(crate) async fn value(&self, css: &str) -> String {
        let value = self.find(css).await.prop("value").await.expect("it is a field");
        value.unwrap_or_default()
    }

    /// Types into a field, or names a file in a field for files.
    pub(crate) async fn fill(&self, css: &str, text: &str) {
        self.find(css).await.send_keys(text).await.expect("it takes keys");
    }

    /// Clicks a link, a button or a summary.
    pub(crate) async fn click(&self, css: &str) {
        self.find(css).await.click().await.expect("it can be clicked");
    }

    /// Runs the body of a function in the page and returns what it returns.
    pub(crate) async fn run(&self, script: &str) -> Value {
        self.client.execute(script, Vec::new()).await.expect("the script runs")
    }

    /// Runs the body of a function whose last argument takes the result when it is there.
    pub(crate) async fn run_to_the_end(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.client.execute_async(script, arguments).await.expect("the script runs")
    }

    /// Sends a command of the DevTools protocol.
    pub(crate) async fn devtools(&self, command: &str, parameters: Value) -> Value {
        let body = json!({ "cmd": command, "params": parameters });
        let answer = self.client.issue_cmd(Extension("goog/cdp/execute", body)).await;
        answer.unwrap_or_else(|error| panic!("{command}: {error}"))
    }

    /// What the browser complained of since it was last asked.
    pub(crate) async fn complaints(&self) -> Vec<String> {
        let body = json!({ "type": "browser" });
        let log = self.client.issue_cmd(Extension("se/log", body)).await.expect("there is a log");
        let entries = log.as_array().cloned().unwrap_or_default();
        let is_bad = |entry: &&Value| entry["level"] == "SEVERE" || entry["level"] == "WARNING";
        let message = |entry: &Value| entry["message"].as_str().unwrap_or_default().to_owned();
        entries.iter().filter(is_bad).map(message).collect()
    }

    /// Gives the screen another height, as for a picture of a whole page.
    pub(crate) async fn set_height(&self, height: u32) {
        let metrics = json!({
            "width": self.screen.width, "height": height, "deviceScaleFactor": 1, "mobile": false,
        });
        self.devtools("Emulation.setDeviceMetricsOverride", metrics).await;
    }

    /// Lets the system prefer light or dark pages, and pages that stand still.
    pub(crate) async fn prefer(&self, scheme: &str) {
        let features = json!([
            { "name": "prefers-color-scheme", "value": scheme },
            { "name": "prefers-reduced-motion", "value": "reduce" },
        ]);
        self.devtools("Emulation.setEmulatedMedia", json!({ "features": features })).await;
    }
}

/// The process of chromedriver; it is stopped, with its browsers, when this goes out of scope.
struct Driver {
    process: Child,
    port: u16,
}

impl Driver {
    fn start(chromedriver: &PathBuf) -> Self {
        let mut command = Command::new(chromedriver);
        // How dates are typed follows the language of the browser.
        command.arg("--port=0").env("LANGUAGE", "en_US");
        let (process, port) = start_and_read(&mut command, |line| {
            let (_, port) = line.split_once("started successfully on port ")?;
            port.trim_end_matches('.').parse().ok()
        });
        Self { process, port }
    }

    /// Asks it to end; it closes its browsers first.
    fn shut_down(&self) -> std::io::Result<()> {
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port))?;
        stream.set_read_timeout(Some(LONGEST_WAIT))?;
        write!(stream, "GET /shutdown HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n")?;
        stream.read_to_end(&mut Vec::new()).map(drop)
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        if self.shut_down().is_err() {
            let _ = self.process.kill();
        }
        let _ = self.process.wait();
    }
}

/// A command of chromedriver beyond the standard, and what is sent with it.
#[derive(Debug)]
struct Extension(&'static str, Value);

impl WebDriverCompatibleCommand for Extension {
    fn endpoint(&self, base_url: &Url, session_id: Option<&str>) -> Result<Url, ParseError> {
        base_url.join(&format!("session/{}/{}", session_id.unwrap_or_default(), self.0))
    }

    fn method_and_body(&self, _: &Url) -> (Method, Option<String>) {
        (Method::POST, Some(self.1.to_string()))
    }
}

/// Finds a program on the search path.
fn installed(program: &str) -> Option<PathBuf> {
    let places = env::var_os("PATH")?;
    env::split_paths(&places).map(|folder| folder.join(program)).find(|path| path.is_file())
}

#[allow(clippy::print_stderr)]
fn say_unchecked() {
    eprintln!("chromium or chromedriver is missing: no page was opened in a browser");
}

#[cfg(unix)]
fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata("/proc/self").is_ok_and(|process| process.uid() == 0)
}

#[cfg(not(unix))]
fn is_root() -> bool {
    false
}
