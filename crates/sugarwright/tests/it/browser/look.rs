//! What is looked at on every page a test reaches.
//!
//! No complaint of the browser (a script's error, a breach of the content security policy), nothing to scroll sideways
//! (WCAG 2.2, 1.4.10), nothing that axe-core finds against WCAG 2.2 level AA, in light and in dark, and HTML that
//! html-validate finds valid. Both programs come from npm at pinned versions (`cargo xtask test`).

use std::{
    env, fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::{Value, json};
use tempfile::TempDir;

use super::driver::Browser;
use crate::program::scratch;

/// Runs axe-core against the levels A and AA of WCAG 2.0 to 2.2 and returns a line for each violation.
const RUN_AXE: &str = r"
const done = arguments[arguments.length - 1];
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
axe.run(document, { runOnly: tags, resultTypes: ['violations'] }).then(
  ({ violations }) => done(violations.flatMap(({ id, nodes }) =>
    nodes.map(({ target, failureSummary }) => `${id}: ${target.join(' ')}: ${failureSummary}`))),
  (error) => done([`axe-core: ${error}`]),
);
";

/// The whole page's height, and what reaches beyond its right edge.
const WIDER: &str = r"
const { scrollWidth, clientWidth } = document.documentElement;
if (scrollWidth <= clientWidth) return [];
return [...document.querySelectorAll('body *')]
  .filter((part) => part.getBoundingClientRect().right > clientWidth + 1)
  .slice(0, 5)
  .map((part) => `reaches beyond the right edge: ${part.outerHTML.slice(0, 160)}`)
  .concat(`the page is ${scrollWidth} wide on a screen of ${clientWidth}`);
";

/// What was found on the pages of one test.
pub(crate) struct Findings {
    axe: Option<String>,
    pictures: Option<PathBuf>,
    /// The pages' HTML, as it was sent.
    sent: TempDir,
    found: Vec<String>,
}

impl Findings {
    pub(crate) fn new() -> Self {
        let axe = env::var_os("SUGARWRIGHT_AXE").map(|package| {
            fs::read_to_string(Path::new(&package).join("axe.min.js")).expect("axe-core is there")
        });
        let pictures = env::var_os("SUGARWRIGHT_SCREENSHOTS").map(PathBuf::from);
        if let Some(folder) = &pictures {
            fs::create_dir_all(folder).expect("the folder of pictures can be made");
        }
        Self { axe, pictures, sent: scratch(), found: Vec::new() }
    }

    /// Looks at the page that is shown now, in light and in dark.
    ///
    /// `refusal` is the status of a page that says what is wrong, of which the browser complains.
    pub(crate) async fn look(&mut self, browser: &Browser, name: &str, refusal: Option<u16>) {
        let place = format!("{}, {name}", browser.screen.name);
        let (expected, complaints): (Vec<_>, Vec<_>) =
            browser.complaints().await.into_iter().partition(|complaint| {
                refusal.is_some_and(|status| complaint.contains(&format!("status of {status}")))
            });
        self.found.extend(complaints.iter().map(|complaint| format!("{place}: {complaint}")));
        if refusal.is_some() && expected.is_empty() {
            self.found.push(format!("{place}: the browser was to complain and did not"));
        }
        self.keep_html(browser, name).await;
        for scheme in ["light", "dark"] {
            browser.prefer(scheme).await;
            let mut found = lines(&browser.run(WIDER).await);
            if let Some(axe) = &self.axe {
                browser.run(axe).await;
                found.extend(lines(&browser.run_to_the_end(RUN_AXE, Vec::new()).await));
            }
            self.found.extend(found.iter().map(|line| format!("{place}, {scheme}: {line}")));
            if let Some(folder) = &self.pictures {
                let file = |part: &str| {
                    folder.join(format!("{}-{scheme}-{name}{part}.png", browser.screen.name))
                };
                take_pictures(browser, &file("-top"), &file("")).await;
            }
        }
        browser.prefer("light").await;
    }

    /// Keeps the page's HTML as it came from the server.
    async fn keep_html(&self, browser: &Browser, name: &str) {
        let tree = browser.devtools("Page.getFrameTree", json!({})).await;
        // The request of a page has the name of its loader.
        let asked = json!({ "requestId": tree["frameTree"]["frame"]["loaderId"] });
        let sent = browser.devtools("Network.getResponseBody", asked).await;
        let html = sent["body"].as_str().expect("a page is text");
        let file = self.sent.path().join(format!("{}-{name}.html", browser.screen.name));
        fs::write(file, html).expect("the page can be kept");
    }

    /// Validates the HTML of the pages and fails with all that was found.
    pub(crate) fn must_be_none(mut self) {
        self.found.extend(validate(self.sent.path()));
        assert!(self.found.is_empty(), "{}", self.found.join("\n"));
    }
}

/// Returns what html-validate says of the pages in a folder; nothing if it is not there.
fn validate(folder: &Path) -> Option<String> {
    let package = env::var_os("SUGARWRIGHT_HTML_VALIDATE")?;
    let rules = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/browser/html-validate.json");
    let validated = Command::new("node")
        .arg(Path::new(&package).join("bin/html-validate.mjs"))
        .args(["--formatter", "text", "--config"])
        .arg(rules)
        .arg(folder)
        .output()
        .expect("node starts");
    let said = [validated.stdout, validated.stderr].concat();
    (!validated.status.success()).then(|| String::from_utf8_lossy(&said).into_owned())
}

/// Takes a picture of what the screen shows first and one of the whole page.
async fn take_pictures(browser: &Browser, first: &Path, whole: &Path) {
    // Chromium paints no picture taller than this.
    const TALLEST: u64 = 16_000;
    let shoot = async |file: &Path| {
        let picture = browser.client.screenshot().await.expect("a picture is taken");
        fs::write(file, picture).expect("the picture can be kept");
    };
    browser.run("window.scrollTo(0, 0)").await;
    shoot(first).await;
    let height = browser.run("return document.documentElement.scrollHeight").await;
    let height = height.as_u64().unwrap_or_default().min(TALLEST);
    let height = u32::try_from(height).expect("it is no taller than the tallest");
    browser.set_height(height.max(browser.screen.height)).await;
    shoot(whole).await;
    browser.set_height(browser.screen.height).await;
}

fn lines(found: &Value) -> Vec<String> {
    let lines = found.as_array().into_iter().flatten();
    lines.map(|line| line.as_str().unwrap_or_default().to_owned()).collect()
}
